// How much water a room's air takes or gives on the way to another climate, once and steadily.
// 1 kg of water is 1 litre. Pure. It knows the air only: walls, slab, furniture and people add or
// take water of their own, so that what it says is a lower bound, not a size for a machine.
#pragma once

#include <cstdint>
#include <optional>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"
#include "analysis/readiness/room/room_advice.hpp"

namespace analysis::readiness::room {

// Volumes of the room's air that leave it in an hour.
struct AirChangeRange {
  base::AirChangesPerHour low;
  base::AirChangesPerHour high;
};
// A closed room with nobody in it, its air changes not known. Source: common practice, from memory.
inline constexpr AirChangeRange kUnknownAirChanges{base::AirChangesPerHour{0.3},
                                                   base::AirChangesPerHour{1.0}};

// Materials hold this many times what the air needs once. From memory.
inline constexpr double kLowestBuffering = 3.0;
inline constexpr double kHighestBuffering = 10.0;

enum class WaterDirection : std::uint8_t { add = 1, remove = 2, none = 3 };

// Amounts are never negative; the direction says which way.
struct WaterOnce {
  WaterDirection direction = WaterDirection::none;
  base::Kilograms air_alone;            // a lower bound
  base::Kilograms with_materials_low;   // times kLowestBuffering
  base::Kilograms with_materials_high;  // times kHighestBuffering
};

// What must be added or taken away each day to hold the wanted climate against the outdoor air.
struct WaterPerDay {
  WaterDirection direction = WaterDirection::none;
  base::KilogramsPerDay low;
  base::KilogramsPerDay high;
};

struct WaterBalance {
  WaterOnce once;
  std::optional<WaterPerDay> steady;  // nullopt where the outdoor air is not known
};

struct RoomOfAir {
  base::CubicMetres volume;
  base::Pascal pressure;  // of the air; physics::air_pressure_from_altitude
  AirChangeRange air_changes = kUnknownAirChanges;
};

// once = rho V (w_wanted - w_room); steady = 24 n rho V (w_wanted - w_outdoors), with w the
// humidity ratio and rho the density of the dry air at the wanted climate. Source: mass balance of
// a well-mixed room. `once` and `steady` may point different ways. The volume must be
// above zero, the air changes zero or more with low <= high, all finite.
[[nodiscard]] base::Result<WaterBalance, physics::DomainError> water_balance_from(
    const RoomOfAir& room, const Air& air, const Air& wanted, const std::optional<Air>& outdoors);

}  // namespace analysis::readiness::room
