// What would bring the room air into its band: by temperature alone, with the outdoor air, or by
// adding or taking away water. Data for texts, no texts. Pure. RH is over liquid water. It looks at
// the air only: what walls, slab and people give or take is not known here.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"
#include "analysis/readiness/dwell.hpp"

namespace analysis::readiness::room {

struct Air {
  Celsius temperature;
  RelativeHumidity rh;
};

// Both ends included.
struct TemperatureWindow {
  Celsius low;
  Celsius high;
};

// Why no temperature of the band gives an RH of the band. Not stored.
enum class NoWindow : std::uint8_t {
  too_dry = 1,        // at every temperature of the band
  too_damp = 2,       // likewise
  out_of_domain = 3,  // of the saturation formula, or of RH
};

// The temperatures of the band at which air of that vapour pressure has an RH of the band: from
// T(e / rh_high) to T(e / rh_low), cut to the band. Source: definition of RH, with
// physics/psychrometrics. REQUIRES: no low of the band above its high.
[[nodiscard]] base::Result<TemperatureWindow, NoWindow> temperature_window_from(
    const ClimateBand& band, base::Pascal vapour);

enum class AiringEffect : std::uint8_t {
  dries = 1,
  wets = 2,
  neither = 3,  // within kSmallestAiringEffect
};

// Less than this between room and outdoor air, both at room temperature, is within what sensors
// and a weather report can tell. [asm]
inline constexpr RelativeHumidity kSmallestAiringEffect{0.02};

struct Airing {
  AiringEffect effect = AiringEffect::neither;
  // Of outdoor air brought to room temperature; nullopt where it would condense.
  std::optional<RelativeHumidity> rh_in_room;
};

[[nodiscard]] base::Result<Airing, physics::DomainError> airing_from(const Air& room,
                                                                     const Air& outdoors);

enum class StepKind : std::uint8_t {
  keep = 1,
  heat = 2,       // the vapour stays
  cool = 3,       // the vapour stays; may be no more than turning heating down
  humidify = 4,   // at unchanged temperature
  dry = 5,        // at unchanged temperature
  ventilate = 6,  // at temperature held by heating; only where outdoor air helps
};

// What to do, and the air it leads to; rh nullopt where the room's RH is not known.
struct RoomStep {
  StepKind kind = StepKind::keep;
  Celsius temperature;
  std::optional<RelativeHumidity> rh;
};

// What is known of the room air, best as means over three hours, and of the air outdoors.
struct AirKnown {
  std::optional<Celsius> temperature;
  std::optional<RelativeHumidity> rh;
  std::optional<Air> outdoors;
};

struct RoomAdvice {
  std::optional<bool> in_band;  // nullopt = not known; false when one known value is out
  // Only where temperature and RH are known; `airing` only where the outdoor air is, too.
  std::optional<base::Result<TemperatureWindow, NoWindow>> by_temperature_alone;
  std::optional<Airing> airing;
  // One after the other; the last ends in the band, where both values are known. `keep` stands
  // alone. Empty where too little is known to advise anything.
  std::vector<RoomStep> steps;
};

// Steps aim a quarter of the band's width inside its edge. Temperature alone is preferred where its
// window is at least kNarrowestWindow wide; otherwise the temperature is brought into its band, and
// water is added or taken away, by airing first as far as that helps.
inline constexpr base::KelvinDelta kNarrowestWindow{1.0};  // what a room can be held within [asm]

// REQUIRES: no low of the band above its high.
[[nodiscard]] base::Result<RoomAdvice, physics::DomainError> room_advice_from(
    const ClimateBand& band, const AirKnown& air);

}  // namespace analysis::readiness::room
