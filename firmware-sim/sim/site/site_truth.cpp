#include "firmware-sim/sim/site/site_truth.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "firmware-sim/sim/physics/moist_air.hpp"

namespace firmware::sim::site {
namespace {

constexpr double kStepS = 30.0;
constexpr analysis::base::Micros kStep{30'000'000};
constexpr std::int64_t kDayUs = 86'400'000'000;

// 0..1: how far the gains of the day are on at `at`.
double daytime_share(const DaytimeGains& gains, analysis::base::UtcMicros at) {
  const double hour = static_cast<double>(at.value % kDayUs) / 3.6e9;
  const double passed = (hour - gains.from_hour_utc) / (gains.to_hour_utc - gains.from_hour_utc);
  return passed > 0.0 && passed < 1.0 ? std::sin(std::numbers::pi * passed) : 0.0;
}

}  // namespace

using analysis::base::Celsius;
using analysis::base::KelvinDelta;
using analysis::base::RelativeHumidity;
using analysis::base::UtcMicros;

SiteTruth::SiteTruth(const SiteParameters& parameters, UtcMicros start, std::uint64_t seed)
    : parameters_(parameters),
      noise_(seed),
      weather_(parameters.weather),
      room_(parameters.room),
      slab_(parameters.slab),
      stack_(parameters.stack) {
  slab_.dry_until_start();
  now_ = snapshot(start);
  before_ = now_;
}

void SiteTruth::advance_to(UtcMicros at) {
  while (now_.at < at) {
    step();
  }
}

void SiteTruth::step() {
  const UtcMicros next = now_.at + kStep;
  weather_.advance(next, kStepS, noise_);
  RoomForcing forcing;
  forcing.outdoor_temperature = weather_.temperature();
  forcing.outdoor_rh = weather_.rh();
  forcing.heater_works = heater_works_;
  const double share = daytime_share(parameters_.gains, next);
  forcing.gain_w = share * parameters_.gains.most_w;
  forcing.gain_kg_per_s = share * parameters_.gains.most_vapour_kg_per_h / 3600.0;
  forcing.to_stack_w = to_stack_w_;
  forcing.slab_vapour_kg_per_s = slab_vapour_kg_per_s_;
  room_.advance(kStepS, forcing);
  // Stack and slab answer to the new air; what they take or give acts on the next step.
  to_stack_w_ = delivered_ ? stack_.advance(kStepS, room_.air_temperature()) / kStepS : 0.0;
  slab_vapour_kg_per_s_ = slab_.advance(kStepS, room_.slab_temperature(), room_.air_rh()) *
                          parameters_.room.floor_m2 / kStepS;
  before_ = now_;
  now_ = snapshot(next);
}

void SiteTruth::deliver_cartons() {
  stack_.deliver(Celsius{parameters_.stack.delivery_celsius});
  delivered_ = true;
  now_ = snapshot(now_.at);
  before_.core_temperature = now_.core_temperature;  // a jump, not a ramp over one step
}

SiteState SiteTruth::snapshot(UtcMicros at) const {
  SiteState state;
  state.at = at;
  state.outdoor_temperature = weather_.temperature();
  state.outdoor_rh = weather_.rh();
  state.air_temperature = room_.air_temperature();
  state.air_rh = room_.air_rh();
  state.core_temperature = delivered_ ? stack_.core() : room_.air_temperature();
  state.slab_surface_temperature = room_.slab_surface_temperature();
  state.slab_rh = slab_.rh_at_probe();
  state.condensation_margin = state.slab_surface_temperature -
                              physics::dew_point(room_.air_vapour(), room_.air_temperature());
  return state;
}

SiteState SiteTruth::state_at(UtcMicros at) const {
  const double span = static_cast<double>((now_.at - before_.at).count());
  const double share =
      span > 0.0 ? std::clamp(static_cast<double>((at - before_.at).count()) / span, 0.0, 1.0)
                 : 1.0;
  const auto between = [share](auto a, auto b) {
    return decltype(a){a.value() * (1.0 - share) + b.value() * share};
  };
  SiteState state;
  state.at = at;
  state.outdoor_temperature = between(before_.outdoor_temperature, now_.outdoor_temperature);
  state.outdoor_rh = between(before_.outdoor_rh, now_.outdoor_rh);
  state.air_temperature = between(before_.air_temperature, now_.air_temperature);
  state.air_rh = between(before_.air_rh, now_.air_rh);
  state.core_temperature = between(before_.core_temperature, now_.core_temperature);
  state.slab_surface_temperature =
      between(before_.slab_surface_temperature, now_.slab_surface_temperature);
  state.slab_rh = between(before_.slab_rh, now_.slab_rh);
  state.condensation_margin = between(before_.condensation_margin, now_.condensation_margin);
  return state;
}

}  // namespace firmware::sim::site
