#include "firmware-sim/sim/site/site_truth.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "firmware-sim/sim/physics/moist_air.hpp"

namespace firmware::sim::site {
namespace {

using analysis::base::AbsoluteHumidity;
using analysis::base::Celsius;
using analysis::base::KelvinDelta;
using analysis::base::Kilograms;
using analysis::base::Micros;
using analysis::base::RelativeHumidity;
using analysis::base::UtcMicros;

constexpr std::int64_t kDayUs = 86'400'000'000;

constexpr std::size_t index_of(BoxPlace place) { return static_cast<std::size_t>(place); }

// 0..1: how far the gains of the day are on at `at`.
double daytime_share(const DaytimeGains& gains, UtcMicros at) {
  const double hour = static_cast<double>(at.value % kDayUs) / 3.6e9;
  const double passed = (hour - gains.from_hour_utc) / (gains.to_hour_utc - gains.from_hour_utc);
  return passed > 0.0 && passed < 1.0 ? std::sin(std::numbers::pi * passed) : 0.0;
}

KelvinDelta above_dew_point(Celsius surface, Celsius air, RelativeHumidity rh) {
  return surface - physics::dew_point(physics::vapour_density(air, rh), air);
}

// Every probe of a box hangs in this air.
SiteState in_air(const SiteState& room, Celsius air, RelativeHumidity rh) {
  SiteState state = room;
  state.air_temperature = air;
  state.air_rh = rh;
  state.core_temperature = air;
  state.slab_surface_temperature = air;
  state.slab_rh = rh;
  return state;
}

}  // namespace

SiteTruth::SiteTruth(const SiteParameters& parameters, UtcMicros start, std::uint64_t seed)
    : parameters_(parameters),
      noise_(seed),
      weather_(parameters.weather, start),
      clouds_(parameters.gains.cloud_share, parameters.gains.cloud_memory_h * 3600.0),
      room_(parameters.room),
      slab_(parameters.slab),
      stack_(parameters.stack),
      places_{PlaceAir{parameters.other_room, place_forcing(start)},
              PlaceAir{parameters.van, place_forcing(start)}},
      controls_(controls_at_start(parameters.room)) {
  slab_.dry_until_start();
  now_ = snapshot(start);
  before_ = now_;
}

void SiteTruth::advance_to(UtcMicros at) {
  while (now_.front().at < at) {
    step();
  }
}

PlaceForcing SiteTruth::place_forcing(UtcMicros at) const {
  const double sky = std::clamp(1.0 + clouds_.value(), 0.0, 2.0);
  return {weather_.temperature(), weather_.rh(), sky * daytime_share(parameters_.gains, at)};
}

// Cartons and slab answer to the room as it is at the start of the step; what they take and give
// acts on the room within the same step, so that nothing is under way between two steps.
void SiteTruth::step() {
  const double step_s = parameters_.step_s;
  const UtcMicros next = now_.front().at + Micros{static_cast<std::int64_t>(step_s) * 1'000'000};
  weather_.advance(next, step_s, noise_);
  clouds_.advance(step_s, noise_);
  const PlaceForcing around = place_forcing(next);
  RoomForcing forcing;
  forcing.outdoor_temperature = around.outdoor_temperature;
  forcing.outdoor_rh = around.outdoor_rh;
  forcing.controls = controls_;
  forcing.gain_w = around.sun_share * parameters_.gains.most_w;
  forcing.gain_kg_per_s =
      daytime_share(parameters_.gains, next) * parameters_.gains.most_vapour_kg_per_h / 3600.0;
  forcing.to_stack_w = delivered_ ? stack_.advance(step_s, room_.air_temperature()) / step_s : 0.0;
  forcing.slab_vapour_kg_per_s =
      slab_.advance(step_s, room_.slab_temperature(), room_.rh_at_slab_surface()) *
      parameters_.room.floor_m2 / step_s;
  forcing.wet_trade_kg_per_s = evaporate_kg(step_s) / step_s;
  room_.advance(step_s, forcing);
  for (PlaceAir& place : places_) {
    place.advance(step_s, around);
  }
  before_ = now_;
  now_ = snapshot(next);
}

double SiteTruth::evaporate_kg(double step_s) {
  const double dryness = std::max(0.0, 1.0 - room_.air_rh().value()) / 0.5;
  double sum_kg = 0.0;
  for (WetTrade& trade : wet_trades_) {
    const double kg = std::min(trade.left_kg, trade.kg_per_s * dryness * step_s);
    trade.left_kg -= kg;
    sum_kg += kg;
  }
  return sum_kg;
}

void SiteTruth::deliver_cartons(Celsius cartons) {
  stack_.deliver(cartons);
  delivered_ = true;
  const std::size_t room = index_of(BoxPlace::room);
  now_[room].core_temperature = stack_.core();
  before_[room].core_temperature = stack_.core();  // a jump, not a ramp over one step
}

void SiteTruth::start_wet_trade(Kilograms water, Micros in_air_of_half_rh) {
  const double seconds = static_cast<double>(in_air_of_half_rh.count()) * 1e-6;
  wet_trades_.push_back({water.value(), water.value() / seconds});
}

double SiteTruth::wet_trade_kg() const {
  double sum_kg = 0.0;
  for (const WetTrade& trade : wet_trades_) {
    sum_kg += trade.left_kg;
  }
  return sum_kg;
}

std::array<SiteState, kBoxPlaces> SiteTruth::snapshot(UtcMicros at) const {
  SiteState room;
  room.at = at;
  room.outdoor_temperature = weather_.temperature();
  room.outdoor_rh = weather_.rh();
  room.air_temperature = room_.air_temperature();
  room.air_rh = room_.air_rh();
  room.core_temperature = delivered_ ? stack_.core() : room_.air_temperature();
  room.slab_surface_temperature = room_.slab_surface_temperature();
  room.slab_rh = slab_.rh_at_probe();
  std::array<SiteState, kBoxPlaces> states;
  states[index_of(BoxPlace::room)] = room;
  states[index_of(BoxPlace::other_room)] = in_air(room, places_[0].temperature(), places_[0].rh());
  states[index_of(BoxPlace::van)] = in_air(room, places_[1].temperature(), places_[1].rh());
  states[index_of(BoxPlace::outdoors)] = in_air(room, weather_.temperature(), weather_.rh());
  return states;
}

SiteState SiteTruth::state_at(UtcMicros at) const { return state_at(at, BoxPlace::room); }

SiteState SiteTruth::state_at(UtcMicros at, BoxPlace place) const {
  const SiteState& a = before_[index_of(place)];
  const SiteState& b = now_[index_of(place)];
  const double span = static_cast<double>((b.at - a.at).count());
  const double share =
      span > 0.0 ? std::clamp(static_cast<double>((at - a.at).count()) / span, 0.0, 1.0) : 1.0;
  const auto between = [&a, &b, share](auto SiteState::*member) {
    using Value = std::remove_cvref_t<decltype(a.*member)>;
    return Value{(a.*member).value() * (1.0 - share) + (b.*member).value() * share};
  };
  SiteState state;
  state.at = at;
  state.outdoor_temperature = between(&SiteState::outdoor_temperature);
  state.outdoor_rh = between(&SiteState::outdoor_rh);
  state.air_temperature = between(&SiteState::air_temperature);
  state.air_rh = between(&SiteState::air_rh);
  state.core_temperature = between(&SiteState::core_temperature);
  state.slab_surface_temperature = between(&SiteState::slab_surface_temperature);
  state.slab_rh = between(&SiteState::slab_rh);
  state.condensation_margin =
      above_dew_point(state.slab_surface_temperature, state.air_temperature, state.air_rh);
  return state;
}

}  // namespace firmware::sim::site
