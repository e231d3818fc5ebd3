// Sections about room air, gaps and uncertainty.
#include <array>
#include <utility>

#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"
#include "logger/app/outlook/texts/section_texts.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::Celsius;
using analysis::base::ChannelRole;
using analysis::base::Metres;
using analysis::readiness::DecisionRule;
using analysis::readiness::kCoverageFactor;
using analysis::readiness::room::Airing;
using analysis::readiness::room::AiringEffect;
using analysis::readiness::room::kNarrowestWindow;
using analysis::readiness::room::NoWindow;
using analysis::readiness::room::RoomStep;
using analysis::readiness::room::StepKind;
using analysis::readiness::room::WaterDirection;

namespace {

// The width of one plank: no floor is narrower. [asm]
constexpr double kShortestRun = 0.1;  // metres

std::string band_text(const analysis::readiness::ClimateBand& band, ShownUnits units) {
  return fixed(shown_celsius(band.temperature_low.value(), units), 1) + " to " +
         text_of(band.temperature_high, units) + ", " + fixed(percent_from_rh(band.rh_low), 1) +
         " to " + text_of(band.rh_high);
}

std::string now_text(const AirOutlook& air, ShownUnits units) {
  if (!air.known.temperature && !air.known.rh) {
    return "not known";
  }
  std::string text =
      (air.known.temperature ? text_of(*air.known.temperature, units) : "temperature not known") +
      ", " + (air.known.rh ? text_of(*air.known.rh) : "RH not known") + " (mean of 3 h)";
  if (air.advice && air.advice->in_band) {
    text += *air.advice->in_band ? ": in its band of " : ": outside its band of ";
    text += band_text(air.band, units);
  }
  return text;
}

std::string step_text(const RoomStep& step, ShownUnits units) {
  const std::string rh = step.rh ? ", which makes " + text_of(*step.rh) : "";
  const std::string to_rh = step.rh ? " to " + text_of(*step.rh) : "";
  switch (step.kind) {
    case StepKind::keep:
      return "keep it as it is";
    case StepKind::heat:
      return "heat to " + text_of(step.temperature, units) + rh;
    case StepKind::cool:
      return "cool to " + text_of(step.temperature, units) + rh;
    case StepKind::humidify:
      return "humidify" + to_rh + " at " + text_of(step.temperature, units);
    case StepKind::dry:
      return "dry" + to_rh + " at " + text_of(step.temperature, units);
    case StepKind::ventilate:
      return "air the room" + to_rh + ", kept at " + text_of(step.temperature, units);
  }
  return {};
}

void add_warmth(OutlookSection& section, const AirOutlook& air, ShownUnits units) {
  if (!air.advice || !air.advice->by_temperature_alone) {
    return;
  }
  const auto& window = *air.advice->by_temperature_alone;
  std::string text;
  if (window) {
    const bool narrow = window.value().high - window.value().low < kNarrowestWindow;
    const std::string range = fixed(shown_celsius(window.value().low.value(), units), 1) + " to " +
                              text_of(window.value().high, units);
    text = narrow ? "will not do: only from " + range +
                        " the water in the air now is in the band, narrower than the " +
                        text_of(kNarrowestWindow, units) + " within which a room can be held"
                  : "with the water in the air now, " + range + " is in the band";
  } else if (window.error() != NoWindow::out_of_domain) {
    text = std::string("will not do: the air is too ") +
           (window.error() == NoWindow::too_dry ? "dry" : "damp") +
           " at every temperature of the band";
  } else {
    return;
  }
  section.lines.push_back({"Heat alone", text});
}

std::string airing_text(const AirOutlook& air, const Airing& airing, ShownUnits units) {
  const char* effect = airing.effect == AiringEffect::dries  ? "airing dries the room"
                       : airing.effect == AiringEffect::wets ? "airing makes it damper"
                                                             : "airing changes little";
  return "outdoor air of " + text_of(air.known.outdoors->temperature, units) + ", " +
         text_of(air.known.outdoors->rh) + " (mean of 3 h) " +
         (airing.rh_in_room ? "has " + text_of(*airing.rh_in_room) + " at room temperature"
                            : std::string("would condense at room temperature")) +
         ": " + effect;
}

std::string direction_text(WaterDirection direction) {
  return direction == WaterDirection::add ? "to add" : "to take out";
}

void add_water(OutlookSection& section, const AirOutlook& air, ShownUnits units) {
  if (!air.water) {
    return;
  }
  const auto& once = air.water->once;
  if (once.direction != WaterDirection::none) {
    section.lines.push_back(
        {"Water once", litres_of(once.air_alone.value(), units) + " for the air alone, " +
                           litres_of(once.with_materials_low.value(), units) + " to " +
                           litres_of(once.with_materials_high.value(), units) +
                           " with what materials hold, " + direction_text(once.direction)});
  }
  if (const auto& steady = air.water->steady; steady && steady->direction != WaterDirection::none) {
    section.lines.push_back(
        {"A day", litres_of(steady->low.value(), units) + " to " +
                      litres_of(steady->high.value(), units) + " " +
                      direction_text(steady->direction) +
                      " to hold it; walls, slab and people come on top" +
                      (air.air_changes_assumed ? "; 0.3 to 1.0 air changes an hour assumed "
                                                 "(rooms[].air.air_changes_per_hour)"
                                               : "")});
  }
  section.lines.push_back(
      {"Pressure", "reckoned with " + fixed(air.pressure->value() / 1000.0, 1) + " kPa" +
                       (air.sea_level_assumed ? ", at sea level (job.altitude_m is not given)"
                                              : ", from the altitude")});
}

void add_case(OutlookSection& section, const std::string& label, const MovementCase& one,
              const JobMovement& planned, ShownUnits units) {
  const auto& gap = one.gap;
  std::string text = "needs " + needed_length(gap.movement.gap_each_side, units) +
                     (planned.pinned_one_side ? " at the free side" : " at each side") +
                     "; the planned " + short_length(planned.gap, units) +
                     (gap.fits ? " does" : " is short by " + needed_length(gap.short_by, units));
  if (gap.widest_run) {
    text += gap.widest_run->value() < kShortestRun
                ? std::string("; that gap allows no run at all")
                : "; that gap allows a run of " + allowed_length(*gap.widest_run, units);
  }
  if (gap.joint_every) {
    text += ": a joint at every " + allowed_length(*gap.joint_every, units) + " would do";
  }
  text += "; it shrinks by up to " + short_length(gap.movement.shrinkage, units) + " in all";
  section.lines.push_back({label, text});
}

double shown_uncertainty(double value, ChannelRole role, ShownUnits units) {
  return units.imperial && file_unit_of(role) == "celsius" ? value * 1.8 : value;
}
std::string uncertainty_unit(ChannelRole role, ShownUnits units) {
  return file_unit_of(role) != "celsius" ? "%RH" : units.imperial ? "°F" : "K";
}

// Parts that are nothing are left out.
std::string channel_text(const ChannelUncertainty& channel, ShownUnits units) {
  const auto shown = [&](double standard) {
    return fixed(kCoverageFactor * shown_uncertainty(standard, channel.role, units), 2) + " " +
           uncertainty_unit(channel.role, units);
  };
  const std::array<std::pair<const char*, double>, 4> parts{
      {{"accuracy", channel.parts.accuracy},
       {"drift", channel.parts.drift},
       {"placement", channel.parts.placement},
       {"resolution", channel.parts.resolution}}};
  std::string text = "± " + shown(channel.parts.combined()) + " (k = 2), of it";
  const char* separator = " ";
  for (const auto& [name, standard] : parts) {
    if (standard > 0.0) {
      text += separator + std::string(name) + " " + shown(standard);
      separator = ", ";
    }
  }
  return text;
}

std::string guard_text(const GuardLine& guard, DecisionRule rule, ShownUnits units) {
  const bool celsius = guard.unit == "celsius";
  const std::string value = fixed(celsius && units.imperial ? guard.guard * 1.8 : guard.guard, 2) +
                            (!celsius         ? " %RH"
                             : units.imperial ? " °F"
                                              : " K");
  return value + (rule == DecisionRule::guarded ? " is " : " would be ") +
         (guard.added ? "added to " : "taken off ") + guard.limit;
}

}  // namespace

OutlookSection air_section(const RoomOutlook& room, ShownUnits units) {
  const AirOutlook& air = room.air;
  OutlookSection section{"Room air", {}, {}};
  section.lines.push_back({"Now", now_text(air, units)});
  add_warmth(section, air, units);
  if (air.advice) {
    for (std::size_t i = 0; i < air.advice->steps.size(); ++i) {
      const bool last = i + 1 == air.advice->steps.size();
      section.lines.push_back({i == 0 ? "To do" : "then",
                               step_text(air.advice->steps[i], units) +
                                   (last && room.slab ? "; this is for the cartons' band" : "")});
    }
    if (air.advice->airing) {
      section.lines.push_back({"Airing", airing_text(air, *air.advice->airing, units)});
    }
  }
  if (!air.for_slab.empty()) {
    section.lines.push_back({"For slab", "the slab's gate is not met: " + air.for_slab});
  }
  add_water(section, air, units);
  add_missing(section, air.missing);
  return section;
}

OutlookSection movement_section(const RoomOutlook& room, ShownUnits units) {
  const MovementOutlook& movement = room.movement;
  OutlookSection section{"Movement and gaps", {}, {}};
  if (movement.stated && movement.typical) {
    const JobMovement& planned = *movement.planned;
    section.lines.push_back({"Before", "laid at " + text_of(*movement.at_laying) +
                                           ", the room's mean now (the panels' "
                                           "own may differ), in service " +
                                           text_of(planned.service_low) + " to " +
                                           text_of(planned.service_high) + ", " +
                                           long_length(planned.width, units) + " wide:"});
    add_case(section, "As stated", *movement.stated, planned, units);
    add_case(section, "Typical", *movement.typical, planned, units);
  }
  if (movement.practice) {
    section.lines.push_back(
        {"7 m rule", "common practice leaves " +
                         short_length(analysis::readiness::outlook::kPracticeGap, units) +
                         " and sets a joint beyond " +
                         long_length(analysis::readiness::outlook::kPracticeRun, units) +
                         "; from 50 to 80 %RH, with the stated growth, such a run needs " +
                         needed_length(movement.practice->gap_needed, units) +
                         " each side and that gap allows " +
                         allowed_length(movement.practice->widest_run, units)});
  }
  if (const auto& logged = movement.logged) {
    section.lines.push_back(
        {"Logged", "daily means since the delivery ran from " + text_of(logged->lowest_day) +
                       " to " + text_of(logged->highest_day) + " (" + std::to_string(logged->days) +
                       (logged->days == 1 ? " day" : " days") +
                       "); a laid floor given time to follow would have moved by " +
                       short_length(logged->typical_change, units) + " (typical) to " +
                       short_length(logged->change, units) + " (as stated)"});
  }
  add_missing(section, movement.missing);
  return section;
}

OutlookSection uncertainty_section(const RoomOutlook& room, ShownUnits units) {
  const UncertaintyOutlook& uncertainty = room.uncertainty;
  OutlookSection section{"Uncertainty", {}, {}};
  section.lines.push_back(
      {"Rule", (uncertainty.rule == DecisionRule::guarded
                    ? "guarded: each limit is drawn in by the expanded uncertainty (k = 2)"
                    : "simple: values are compared with the limits as measured") +
                   std::string(" (") + uncertainty.rule_source + ")"});
  for (const ChannelUncertainty& channel : uncertainty.channels) {
    section.lines.push_back({channel.channel_id, channel_text(channel, units)});
  }
  for (const GuardLine& guard : uncertainty.guards) {
    const bool first = &guard == &uncertainty.guards.front();
    section.lines.push_back({first ? "Guard" : "", guard_text(guard, uncertainty.rule, units)});
  }
  section.lines.push_back(
      {"Risk",
       uncertainty.wrong_ready_probability
           ? "the sensors' errors alone make a wrong `ready` with a probability of at "
             "most " +
                 analysis::readiness::text_from_upper_share(*uncertainty.wrong_ready_probability)
           : "how likely the sensors' errors make a wrong `ready` is told once all "
             "measured gates are met and every sensor's accuracy is known"});
  std::string unknown;
  for (const std::string& channel : uncertainty.unknown_channels) {
    unknown += (unknown.empty() ? "" : ", ") + channel;
  }
  if (!unknown.empty()) {
    add_missing(section, {"How accurate these are: " + unknown +
                          " (boxes[].channels[].accuracy, or dwellog note JOBDIR calibration "
                          "dated before the delivery)."});
  }
  return section;
}

}  // namespace logger::app
