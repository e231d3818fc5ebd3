#include "firmware-sim/sim/site/place/box_surroundings.hpp"

#include <algorithm>
#include <cmath>

#include "firmware-sim/sim/physics/moist_air.hpp"

namespace firmware::sim::site {
namespace {

using analysis::base::AbsoluteHumidity;
using analysis::base::Celsius;
using analysis::base::KelvinDelta;
using analysis::base::Micros;
using analysis::base::RelativeHumidity;
using analysis::base::UtcMicros;

constexpr double kProbeTimeConstantS = 300.0;  // a plastic box in still air: our assumption

// Breath leaves the mouth at about 34 deg C and nearly saturated (common knowledge); how much of
// the air at the probe it is and how soon it is gone are our assumptions.
constexpr Celsius kBreath{34.0};
constexpr RelativeHumidity kBreathRh{0.95};
constexpr double kBreathShare = 0.6;
constexpr double kBreathTimeConstantS = 30.0;
constexpr double kBreathOverS = 180.0;

double seconds(Micros d) { return static_cast<double>(d.count()) * 1e-6; }

// The same vapour at another temperature; water beyond saturation is on the probe, not in the air.
RelativeHumidity rh_at_probe(AbsoluteHumidity vapour, Celsius probe) {
  return std::min(RelativeHumidity{1.0}, physics::rh_of(vapour, probe));
}

}  // namespace

SiteState with_breath(const SiteState& state, Micros since) {
  const double passed = seconds(since);
  if (passed < 0.0 || passed > kBreathOverS) {
    return state;
  }
  const double share = kBreathShare * std::exp(-passed / kBreathTimeConstantS);
  const auto air = physics::vapour_density(state.air_temperature, state.air_rh);
  const auto breath = physics::vapour_density(kBreath, kBreathRh);
  SiteState seen = state;
  seen.air_temperature =
      Celsius{state.air_temperature.value() * (1.0 - share) + kBreath.value() * share};
  seen.air_rh = rh_at_probe(AbsoluteHumidity{air.value() * (1.0 - share) + breath.value() * share},
                            seen.air_temperature);
  return seen;
}

void BoxSurroundings::move_to(BoxPlace place, const SiteTruth& site, UtcMicros at) {
  const SiteState from = seen(site, at);
  const SiteState to = site.state_at(at, place);
  carried_ = Carried{at, from.air_temperature - to.air_temperature,
                     from.core_temperature - to.core_temperature,
                     from.slab_surface_temperature - to.slab_surface_temperature};
  place_ = place;
}

SiteState BoxSurroundings::seen(const SiteTruth& site, UtcMicros at) const {
  SiteState state = site.state_at(at, place_);
  if (carried_) {
    const double left = std::exp(-seconds(at - carried_->at) / kProbeTimeConstantS);
    const auto lagging = [left](Celsius place, KelvinDelta off) {
      return place + KelvinDelta{off.value() * left};
    };
    const auto vapour = physics::vapour_density(state.air_temperature, state.air_rh);
    state.air_temperature = lagging(state.air_temperature, carried_->air);
    state.air_rh = rh_at_probe(vapour, state.air_temperature);
    state.core_temperature = lagging(state.core_temperature, carried_->core);
    state.slab_surface_temperature =
        lagging(state.slab_surface_temperature, carried_->slab_surface);
  }
  return breath_at_ ? with_breath(state, at - *breath_at_) : state;
}

}  // namespace firmware::sim::site
