// What was laid, the climate to keep, how to treat the floor. Advice without another source is
// common practice.
#include "logger/app/handover/care_sections.hpp"

#include <algorithm>
#include <cctype>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/readiness/site/site_answers.hpp"
#include "logger/app/handover/laid_content.hpp"
#include "logger/app/job/job_file.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::Metres;
using analysis::base::minute_text_from_utc;
using analysis::base::RelativeHumidity;
using analysis::physics::kTypicalMovement;
using analysis::plan::CareSection;
using analysis::readiness::kMeanNoise;
using analysis::readiness::MovementPair;
using analysis::readiness::ServiceClimate;
using analysis::readiness::ServiceFloor;
using analysis::readiness::ServiceMovement;
using analysis::readiness::SiteGate;

namespace {

constexpr double kHumidityStep = 0.10;        // of RH, for an example
constexpr RelativeHumidity kWinterAir{0.30};  // common in heated rooms in frost, no source

std::string time_text(const analysis::certificate::LayingFacts& laying) {
  if (!laying.began_at) {
    return "not noted";
  }
  return minute_text_from_utc(*laying.began_at) + " to " +
         (laying.finished_at ? minute_text_from_utc(*laying.finished_at)
                             : std::string("a time that is not noted"));
}

// "At 30 %RH ... the floor is 4.9 mm to 9.7 mm shorter than as laid. ..."
std::string dry_text(const MovementPair& moved, const MovingFloor& moving, ShownUnits units) {
  std::string text = "At " + text_of(kWinterAir) + ", as in heated rooms in frost, the floor is " +
                     range_text(range_of(moved, &ServiceMovement::shrinkage), units) +
                     " shorter than as laid. Where heavy pieces hold it the " +
                     moving.opening_joints + "s open";
  if (const auto panel = panel_range(moved)) {
    text += ", by " + range_text(*panel, units) + " a panel";
  }
  return text + "; elsewhere it draws back from the skirting.";
}

// What it takes to use up the gap.
std::string filled_text(const MovingFloor& moving) {
  const ServiceFloor& floor = moving.floor;
  const auto stated = rh_that_fills_gap(floor, floor.run.coefficient).value();
  const auto typical = rh_that_fills_gap(floor, kTypicalMovement).value();
  if (!stated && !typical) {
    return "Damp air alone does not use it up, not even air of 100 %RH; water can.";
  }
  const auto [sooner, which] = stated && (!typical || *stated <= *typical)
                                   ? std::pair{*stated, "by " + moving.growth_source}
                                   : std::pair{*typical, std::string("with a usual board")};
  const auto& later = stated && (!typical || *stated <= *typical) ? typical : stated;
  return "A floor that has come to air of " + text_of(sooner) + " has used it up (" + which + "; " +
         (&later == &typical ? "with a usual board" : "by " + moving.growth_source) +
         (later ? " at " + text_of(*later) : " not even at 100 %RH") +
         "). Then the edges press against walls and door frames, and the floor lifts or its joints "
         "are crushed.";
}

// What the panels are taken to have been like when they were laid.
std::string laid_at_text(const MovingFloor& moving, const ServiceClimate& climate) {
  const RelativeHumidity at = moving.floor.at_laying;
  if (!moving.laid_at_dwell_mean) {
    return "Laid at " + text_of(at) + ", the middle of the climate to keep, since " +
           moving.no_dwell + ".";
  }
  std::string text = "Laid at " + text_of(at) + ", the room's mean over the dwell";
  if (at.value() > climate.rh_high.value() + kMeanNoise) {
    text += ": damper than the climate to keep, so that the floor shrinks as it comes to that";
  } else if (at.value() < climate.rh_low.value() - kMeanNoise) {
    text += ": drier than the climate to keep, so that the floor grows as it comes to that";
  }
  return text +
         ". Panels in closed cartons take up little of it in days: where they came drier, "
         "the floor grows more.";
}

void add_movement(CareSection& section, const RoomHandover& room, ShownUnits units) {
  const MovingFloor& moving = *room.moving;
  const ServiceFloor& floor = moving.floor;
  const RelativeHumidity damper{std::min(1.0, floor.at_laying.value() + kHumidityStep)};
  const auto grown = movement_pair_from(floor, floor.at_laying, damper);
  if (!grown) {
    return;
  }
  section.lines.push_back(
      {"Why", "Wood-based panels grow in damp air and shrink in dry air. This floor is " +
                  long_length(floor.run.width, units) + " long (" + moving.run_source +
                  "). When the air stays 10 %RH damper than it was laid, it grows by " +
                  range_text(range_of(*grown, &ServiceMovement::growth_each_side), units) + " at " +
                  (floor.run.hold == analysis::physics::FloorHold::pinned_one_side ? "its free side"
                                                                                   : "each side") +
                  " (" + percent_of(kTypicalMovement.value() * kHumidityStep, 2) +
                  " of its length with a usual board, " +
                  percent_of(floor.run.coefficient.value() * kHumidityStep, 2) + " by " +
                  moving.growth_source + ")."});
  if (floor.gap) {
    section.lines.push_back({"Too damp", "The gap left at the walls is " +
                                             told_gap(*floor.gap, units) + " (" +
                                             moving.gap_source + "). " + filled_text(moving)});
  }
  const auto shrunk = movement_pair_from(floor, kWinterAir, floor.at_laying);
  if (floor.at_laying > kWinterAir && shrunk) {
    section.lines.push_back({"Too dry", dry_text(*shrunk, moving, units)});
  }
  section.lines.push_back({"Reckoned", laid_at_text(moving, room.climate)});
}

// The default tells its own want of a source.
std::string source_text(const std::string& source) {
  return source == ServiceClimate{}.source ? source : "source: " + source;
}

std::string sentence_from(std::string clause) {
  clause.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(clause.front())));
  return clause + ".";
}

// The words of an answer for people, or the answer itself where the question has no such choice.
std::string choice_text(SiteGate gate, const std::string& word) {
  if (const auto question = analysis::readiness::site_question_of(gate)) {
    for (const auto& choice : question->choices) {
      if (choice.word == word) {
        return std::string(choice.text);
      }
    }
  }
  return word;
}

// By what was noted of the room's heating.
std::string heating_text(const GateAnswer& heating) {
  const bool in_floor = heating.word == "water" || heating.word == "electric";
  const std::string what = choice_text(SiteGate::heating_kind, heating.word);
  if (!heating.word.empty() && !in_floor) {
    return "None in the floor, as noted on the site (heating: " + what +
           "). One that is put in later is asked of the floor's maker first.";
  }
  std::string text =
      (in_floor ? "Here: " + what + ", as noted on the site. Change"
                : std::string("Where there is one: change")) +
      " its temperature by little each day, keep the surface as cool as the floor's own "
      "instructions ask, and leave no thick carpet or mattress on it: heat gathers below.";
  if (in_floor && !heating.approval.empty()) {
    text += " What applies to this floor: " + heating.approval + ".";
  }
  return text;
}

std::string temperature_range_text(const ServiceClimate& climate, ShownUnits units) {
  return fixed(shown_celsius(climate.temperature_low.value(), units), 1) + " to " +
         text_of(climate.temperature_high, units);
}

// "45.0 to 60.0 %RH"
std::string humidity_range_text(const ServiceClimate& climate) {
  return fixed(percent_from_rh(climate.rh_low), 1) + " to " + text_of(climate.rh_high);
}

std::string installer_text(const HandoverReport& report, const RoomHandover& room) {
  const std::string& name = report.installer;
  if (name.empty() || name == kTemplateInstaller) {
    return "";
  }
  return name + (room.laying.finished_at ? ", who laid it. " : ". ");
}

}  // namespace

LengthRange range_of(const MovementPair& moved, Metres ServiceMovement::*figure) {
  const auto [low, high] = std::minmax({moved.typical.*figure, moved.stated.*figure});
  return {low, high};
}

std::optional<LengthRange> panel_range(const MovementPair& moved) {
  const auto& typical = moved.typical.shrinkage_of_panel;
  const auto& stated = moved.stated.shrinkage_of_panel;
  return typical && stated
             ? std::optional(LengthRange{std::min(*typical, *stated), std::max(*typical, *stated)})
             : std::nullopt;
}

std::string range_text(const LengthRange& range, ShownUnits units) {
  const std::string low = short_length(range.low, units);
  const std::string high = short_length(range.high, units);
  return low == high ? low : low + " to " + high;
}

bool shows_nothing(Metres length, ShownUnits units) {
  return short_length(length, units) == short_length(Metres{0.0}, units);
}

CareSection laid_section(const RoomHandover& room, ShownUnits units) {
  CareSection section{"What was laid", {}, {}};
  const std::string laid = text_from_laid_floor(room.laying.laid, units.imperial);
  section.lines.push_back({"Floor", room.floor_product});
  section.lines.push_back(
      {"Laid", time_text(room.laying) + (room.laid_by.empty() ? "" : ", by " + room.laid_by)});
  section.lines.push_back(
      {"Noted", laid.empty() ? "No gaps, joints or rows were noted." : sentence_from(laid)});
  const std::vector<std::string> findings = findings_of(room, units.imperial);
  for (const std::string& finding : findings) {
    section.lines.push_back(
        {&finding == &findings.front() ? "Not as planned" : "", sentence_from(finding)});
  }
  if (!room.laid_remark.empty()) {
    section.lines.push_back({"Remark", room.laid_remark});
  }
  return section;
}

CareSection climate_section(const RoomHandover& room, ShownUnits units) {
  CareSection section{"Climate to keep", {}, {}};
  section.lines.push_back({"Keep", temperature_range_text(room.climate, units) + " and " +
                                       humidity_range_text(room.climate) + ", all year (" +
                                       source_text(room.climate.source) + ")."});
  section.lines.push_back(
      {"How",
       "A hygrometer in the room shows it. Dry in winter: heat less, humidify. Damp in "
       "summer: dry the air, and air the room when it is cooler outside."});
  if (room.moving) {
    add_movement(section, room, units);
  }
  for (const HandoverLack& lack : room.missing) {
    section.lines.push_back({&lack == &room.missing.front() ? "Not known" : "", lack.what});
  }
  return section;
}

CareSection care_section(const RoomHandover& room) {
  CareSection section{
      "Daily care (common practice, no source)",
      {{"Cleaning",
        "Sweep or vacuum with a soft brush; wipe with a cloth that is damp, never "
        "wet. No standing water, no steam, no wax or abrasive unless the floor's "
        "own instructions name it. Wipe up spills at once."},
       {"Grit",
        "Mats at the doors outside and inside; no mat with a rubber back that stains. "
        "Felt under furniture, soft castors."},
       {"Heavy pieces",
        "A floating floor must be able to move: kitchen islands, built-in "
        "cupboards and stoves do not stand on it and are not screwed through "
        "it. Do not load both ends of one row heavily."},
       {"Floor heating", heating_text(room.heating)},
       {"Gaps",
        "Keep the gap at walls, pipes and door frames free. Fill it with nothing, and "
        "fix skirting to the wall, never to the floor."}},
      {}};
  if (!room.use.approval.empty()) {
    section.lines.push_back(
        {"Damp room", "This kind of floor is laid in this room (" +
                          choice_text(SiteGate::room_kind, room.use.word) +
                          ") by approval: " + room.use.approval +
                          ". Keep what it asks for; let no water stand, and air the room after "
                          "each use."});
  }
  return section;
}

CareSection watch_section(const HandoverReport& report, const RoomHandover& room) {
  return {"What to look for, and whom to call",
          {{"Look for",
            "Joints that open, edges that rise, boards that lift or sound hollow, "
            "skirting that is pushed, damp patches or a musty smell."},
           {"First",
            "Read the hygrometer, note the date and value, take a photo. Water below or "
            "beside the floor: stop it first."},
           {"Call", installer_text(report, room) +
                        "Heating, pipes, cables and the building's structure: licensed trades."},
           {"Mind",
            "The floor maker's instructions, local codes and licensed trades come first, "
            "also where this paper says otherwise. It records what was done and advises; "
            "it does not warrant a floor."},
           {"",
            "Before anything is taken up or sanded: old coverings and black adhesive below may "
            "hold asbestos; have them tested. Grinding concrete sets silica dust free."}},
          {}};
}

}  // namespace logger::app
