#include "analysis/readiness/room/water_balance.hpp"

#include <cmath>

#include "analysis/physics/psychrometrics.hpp"

namespace analysis::readiness::room {
namespace {

using base::Failure;
using base::HumidityRatio;
using base::Kilograms;
using base::KilogramsPerDay;
using base::Pascal;
using base::Result;
using physics::DomainError;

Result<HumidityRatio, DomainError> humidity_ratio_of(const Air& air, Pascal pressure) {
  const auto vapour = physics::vapour_pressure_from_rh(air.temperature, air.rh);
  if (!vapour) {
    return Failure{vapour.error()};
  }
  return physics::humidity_ratio_from_vapour_pressure(vapour.value(), pressure);
}

// The dry air in the room, once it has that climate.
Result<Kilograms, DomainError> dry_air_mass(const RoomOfAir& room, const Air& air) {
  const auto vapour = physics::vapour_pressure_from_rh(air.temperature, air.rh);
  if (!vapour) {
    return Failure{vapour.error()};
  }
  const auto density = physics::dry_air_density(air.temperature, vapour.value(), room.pressure);
  if (!density) {
    return Failure{density.error()};
  }
  return Kilograms{density.value().value() * room.volume.value()};
}

WaterDirection direction_of(double kilograms) {
  if (kilograms > 0.0) {
    return WaterDirection::add;
  }
  return kilograms < 0.0 ? WaterDirection::remove : WaterDirection::none;
}

WaterOnce once_from(double kilograms) {
  const double amount = std::abs(kilograms);
  return {direction_of(kilograms), Kilograms{amount}, Kilograms{kLowestBuffering * amount},
          Kilograms{kHighestBuffering * amount}};
}

// `kilograms`: what one change of the room's air carries out, negative = carries in.
WaterPerDay steady_from(double kilograms, const AirChangeRange& changes) {
  constexpr double kHoursPerDay = 24.0;
  const auto per_day = [&](base::AirChangesPerHour n) {
    return KilogramsPerDay{kHoursPerDay * n.value() * std::abs(kilograms)};
  };
  return {direction_of(kilograms), per_day(changes.low), per_day(changes.high)};
}

bool is_usable(const RoomOfAir& room) {
  return std::isfinite(room.volume.value()) && room.volume.value() > 0.0;
}
bool is_usable(const AirChangeRange& changes) {
  return changes.low.value() >= 0.0 && changes.high >= changes.low &&
         std::isfinite(changes.high.value());
}

}  // namespace

Result<WaterBalance, DomainError> water_balance_from(const RoomOfAir& room, const Air& air,
                                                     const Air& wanted,
                                                     const std::optional<Air>& outdoors) {
  if (!is_usable(room)) {
    return Failure{DomainError::volume_out_of_domain};
  }
  if (!is_usable(room.air_changes)) {
    return Failure{DomainError::air_changes_out_of_domain};
  }
  const auto dry_air = dry_air_mass(room, wanted);
  const auto goal = humidity_ratio_of(wanted, room.pressure);
  const auto now = humidity_ratio_of(air, room.pressure);
  if (!dry_air || !goal || !now) {
    return Failure{!dry_air ? dry_air.error() : !goal ? goal.error() : now.error()};
  }
  const double mass = dry_air.value().value();
  WaterBalance balance;
  balance.once = once_from(mass * (goal.value().value() - now.value().value()));
  if (outdoors) {
    const auto outside = humidity_ratio_of(*outdoors, room.pressure);
    if (!outside) {
      return Failure{outside.error()};
    }
    balance.steady =
        steady_from(mass * (goal.value().value() - outside.value().value()), room.air_changes);
  }
  return balance;
}

}  // namespace analysis::readiness::room
