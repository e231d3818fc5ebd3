#include "analysis/readiness/room/room_advice.hpp"

#include <algorithm>

#include "analysis/physics/psychrometrics.hpp"

namespace analysis::readiness::room {
namespace {

using base::Failure;
using base::Pascal;
using base::Result;
using physics::DomainError;

// A value brought a quarter of the range inside it, by the shortest way.
double aimed_at(double value, double low, double high) {
  const double margin = 0.25 * (high - low);
  return std::clamp(value, low + margin, high - margin);
}

bool holds(const ClimateBand& band, Celsius t) {
  return t >= band.temperature_low && t <= band.temperature_high;
}
bool holds(const ClimateBand& band, RelativeHumidity rh) {
  return rh >= band.rh_low && rh <= band.rh_high;
}

TemperatureWindow temperatures_of(const ClimateBand& band) {
  return {band.temperature_low, band.temperature_high};
}
Celsius aimed_temperature(Celsius from, const TemperatureWindow& window) {
  return Celsius{aimed_at(from.value(), window.low.value(), window.high.value())};
}

StepKind temperature_step(Celsius from, Celsius to) {
  return to > from ? StepKind::heat : StepKind::cool;
}

// REQUIRES: between temperatures for which the formula gave a value.
double saturation_pa(Celsius t) {
  return physics::saturation_pressure_over_water(t).value().value();
}

// Vapour and the temperature it is at.
struct Parcel {
  Celsius temperature;
  Pascal vapour;

  // Above 1 where the vapour would condense. REQUIRES: as saturation_pa.
  [[nodiscard]] RelativeHumidity rh_at(Celsius other) const {
    return RelativeHumidity{vapour.value() / saturation_pa(other)};
  }
};

Result<Parcel, DomainError> parcel_from(const Air& air) {
  const auto vapour = physics::vapour_pressure_from_rh(air.temperature, air.rh);
  if (!vapour) {
    return Failure{vapour.error()};
  }
  return Parcel{air.temperature, vapour.value()};
}

Airing airing_between(const Parcel& room, const Parcel& outdoors) {
  const RelativeHumidity brought_in = outdoors.rh_at(room.temperature);
  Airing airing;
  if (brought_in.value() <= 1.0) {
    airing.rh_in_room = brought_in;
  }
  const double difference = brought_in.value() - room.rh_at(room.temperature).value();
  if (difference <= -kSmallestAiringEffect.value()) {
    airing.effect = AiringEffect::dries;
  } else if (difference >= kSmallestAiringEffect.value()) {
    airing.effect = AiringEffect::wets;
  }
  return airing;
}

struct Outdoors {
  Pascal vapour;
  AiringEffect effect;
};

// From one vapour pressure to another at one temperature, by airing as far as that helps.
std::vector<RoomStep> water_steps(const Parcel& from, Pascal wanted,
                                  const std::optional<Outdoors>& outdoors) {
  std::vector<RoomStep> steps;
  Pascal reached = from.vapour;
  const auto append = [&](StepKind kind, Pascal vapour) {
    reached = vapour;
    const Parcel after{from.temperature, vapour};
    steps.push_back({kind, from.temperature, after.rh_at(from.temperature)});
  };
  const bool dry = wanted < from.vapour;
  if (outdoors && outdoors->effect == (dry ? AiringEffect::dries : AiringEffect::wets)) {
    append(StepKind::ventilate,
           dry ? std::max(wanted, outdoors->vapour) : std::min(wanted, outdoors->vapour));
  }
  if (reached != wanted) {
    append(dry ? StepKind::dry : StepKind::humidify, wanted);
  }
  return steps;
}

// Temperature into its band, and water until RH is in its band there. Drying comes before cooling,
// so that nothing condenses on the way; otherwise the temperature comes first.
std::vector<RoomStep> combined_steps(const ClimateBand& band, const Parcel& room,
                                     const std::optional<Outdoors>& outdoors) {
  const Celsius now = room.temperature;
  const Celsius goal = holds(band, now) ? now : aimed_temperature(now, temperatures_of(band));
  const RelativeHumidity untreated = room.rh_at(goal);
  if (goal != now && holds(band, untreated)) {
    return {{temperature_step(now, goal), goal, untreated}};
  }
  const RelativeHumidity rh{aimed_at(untreated.value(), band.rh_low.value(), band.rh_high.value())};
  const Pascal wanted{rh.value() * saturation_pa(goal)};
  const bool water_first = goal < now && wanted < room.vapour;
  std::vector<RoomStep> steps =
      water_steps({water_first ? now : goal, room.vapour}, wanted, outdoors);
  if (goal != now) {
    const RoomStep warmth{temperature_step(now, goal), goal, water_first ? rh : untreated};
    steps.insert(water_first ? steps.end() : steps.begin(), warmth);
  }
  return steps;
}

// REQUIRES: the air is not in its band.
std::vector<RoomStep> steps_for(const ClimateBand& band, const Parcel& room,
                                const Result<TemperatureWindow, NoWindow>& window,
                                const std::optional<Outdoors>& outdoors) {
  const Celsius now = room.temperature;
  if (!window || window.value().high - window.value().low < kNarrowestWindow) {
    return combined_steps(band, room, outdoors);
  }
  const Celsius goal = aimed_temperature(now, window.value());
  return {{temperature_step(now, goal), goal, room.rh_at(goal)}};
}

// One value or none: what is out is out, the rest can't be told.
RoomAdvice advice_from_part(const ClimateBand& band, const AirKnown& air) {
  RoomAdvice advice;
  if (air.temperature && !holds(band, *air.temperature)) {
    advice.in_band = false;
    const Celsius goal = aimed_temperature(*air.temperature, temperatures_of(band));
    advice.steps.push_back({temperature_step(*air.temperature, goal), goal, std::nullopt});
  } else if (air.rh && !holds(band, *air.rh)) {
    advice.in_band = false;
  }
  return advice;
}

}  // namespace

Result<TemperatureWindow, NoWindow> temperature_window_from(const ClimateBand& band,
                                                            Pascal vapour) {
  const auto coldest = physics::saturation_pressure_over_water(band.temperature_low);
  const auto warmest = physics::saturation_pressure_over_water(band.temperature_high);
  if (!coldest || !warmest || !(vapour.value() >= 0.0) || !(band.rh_low.value() >= 0.0) ||
      !(band.rh_high.value() <= 1.0)) {
    return Failure{NoWindow::out_of_domain};
  }
  const auto vapour_at = [](RelativeHumidity rh, Pascal saturation) {
    return Pascal{rh.value() * saturation.value()};
  };
  if (vapour < vapour_at(band.rh_low, coldest.value())) {
    return Failure{NoWindow::too_dry};
  }
  if (vapour > vapour_at(band.rh_high, warmest.value())) {
    return Failure{NoWindow::too_damp};
  }
  // Where rounding puts an end just outside the formula's domain, it is the end of the band.
  TemperatureWindow window = temperatures_of(band);
  if (vapour > vapour_at(band.rh_high, coldest.value())) {
    window.low =
        physics::dry_bulb_from_vapour_pressure(vapour, band.rh_high).value_or(band.temperature_low);
  }
  if (vapour < vapour_at(band.rh_low, warmest.value())) {
    window.high =
        physics::dry_bulb_from_vapour_pressure(vapour, band.rh_low).value_or(band.temperature_high);
  }
  return window;
}

Result<Airing, DomainError> airing_from(const Air& room, const Air& outdoors) {
  const auto inside = parcel_from(room);
  const auto outside = parcel_from(outdoors);
  if (!inside || !outside) {
    return Failure{inside ? outside.error() : inside.error()};
  }
  return airing_between(inside.value(), outside.value());
}

Result<RoomAdvice, DomainError> room_advice_from(const ClimateBand& band, const AirKnown& air) {
  if (!air.temperature || !air.rh) {
    return advice_from_part(band, air);
  }
  // With both ends of the band in the formula's domain, so is every temperature a step aims at.
  for (const Celsius end : {band.temperature_low, band.temperature_high}) {
    if (const auto saturation = physics::saturation_pressure_over_water(end); !saturation) {
      return Failure{saturation.error()};
    }
  }
  const Air inside{*air.temperature, *air.rh};
  const auto room = parcel_from(inside);
  if (!room) {
    return Failure{room.error()};
  }
  RoomAdvice advice;
  std::optional<Outdoors> outdoors;
  if (air.outdoors) {
    const auto outside = parcel_from(*air.outdoors);
    if (!outside) {
      return Failure{outside.error()};
    }
    advice.airing = airing_between(room.value(), outside.value());
    outdoors = Outdoors{outside.value().vapour, advice.airing->effect};
  }
  advice.in_band = holds(band, inside.temperature) && holds(band, inside.rh);
  advice.by_temperature_alone = temperature_window_from(band, room.value().vapour);
  if (*advice.in_band) {
    advice.steps.push_back({StepKind::keep, inside.temperature, inside.rh});
    return advice;
  }
  advice.steps = steps_for(band, room.value(), *advice.by_temperature_alone, outdoors);
  return advice;
}

}  // namespace analysis::readiness::room
