// What was laid, the climate to keep, how to treat the floor. Advice without another source is
// common practice.
#include "logger/app/handover/care_sections.hpp"

#include <algorithm>
#include <cctype>

#include "logger/app/handover/laid_content.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;
using analysis::base::RelativeHumidity;
using analysis::physics::kTypicalMovement;
using analysis::plan::CareSection;
using analysis::readiness::ServiceClimate;
using analysis::readiness::ServiceFloor;

namespace {

constexpr double kHumidityStep = 0.10;
constexpr RelativeHumidity kWinterAir{0.30};  // common in heated rooms in frost, no source

std::string time_text(const analysis::certificate::LayingFacts& laying) {
  if (!laying.began_at) {
    return "not noted";
  }
  return minute_text_from_utc(*laying.began_at) + " to " +
         (laying.finished_at ? minute_text_from_utc(*laying.finished_at)
                             : std::string("a time that is not noted"));
}

// The growth of one side, with a usual board and with the coefficient that the job states.
std::string growth_range(const ServiceFloor& floor, RelativeHumidity to, ShownUnits units) {
  const auto typical = service_movement_from(floor, kTypicalMovement, floor.at_laying, to);
  const auto stated = service_movement_from(floor, floor.run.coefficient, floor.at_laying, to);
  if (!typical || !stated) {
    return {};
  }
  return short_length(typical.value().growth_each_side, units) + " to " +
         short_length(stated.value().growth_each_side, units);
}

// {of the whole run, of one panel}
std::pair<std::string, std::string> shrinkage_range(const ServiceFloor& floor, RelativeHumidity to,
                                                    ShownUnits units) {
  const auto typical = service_movement_from(floor, kTypicalMovement, to, floor.at_laying);
  const auto stated = service_movement_from(floor, floor.run.coefficient, to, floor.at_laying);
  if (!typical || !stated) {
    return {};
  }
  std::pair<std::string, std::string> texts{short_length(typical.value().shrinkage, units) +
                                                " to " +
                                                short_length(stated.value().shrinkage, units),
                                            {}};
  if (typical.value().shrinkage_of_panel && stated.value().shrinkage_of_panel) {
    texts.second = short_length(*typical.value().shrinkage_of_panel, units) + " to " +
                   short_length(*stated.value().shrinkage_of_panel, units);
  }
  return texts;
}

// "at 72.3 %RH, with a usual board not below 100 %RH"
std::string filled_text(const ServiceFloor& floor) {
  const auto stated = rh_that_fills_gap(floor, floor.run.coefficient);
  const auto typical = rh_that_fills_gap(floor, kTypicalMovement);
  if (!stated || !typical || !stated.value()) {
    return "not even in saturated air";
  }
  return "at " + text_of(*stated.value()) + ", with a usual board " +
         (typical.value() ? "at " + text_of(*typical.value()) : "not even in saturated air");
}

void add_movement(CareSection& section, const MovingFloor& moving, ShownUnits units) {
  const ServiceFloor& floor = moving.floor;
  const RelativeHumidity damper{std::min(1.0, floor.at_laying.value() + kHumidityStep)};
  section.lines.push_back(
      {"Why", "Wood-based panels grow in damp air and shrink in dry air. This floor is " +
                  long_length(floor.run.width, units) + " long where it is longest (" +
                  moving.run_source +
                  "). When the air stays 10 %RH damper than it was laid, it "
                  "grows by " +
                  growth_range(floor, damper, units) + " at " +
                  (floor.run.hold == analysis::physics::FloorHold::pinned_one_side ? "its free side"
                                                                                   : "each side") +
                  " (usual board to the limit that the job states)."});
  if (floor.gap) {
    section.lines.push_back(
        {"Too damp", "The gap left at the walls is " + short_length(*floor.gap, units) + " (" +
                         moving.gap_source + "). It is used up " + filled_text(floor) +
                         ", once the floor has come to that. Then the edges press against walls "
                         "and door frames, and the floor lifts or its joints are crushed."});
  }
  const auto [whole, panel] = shrinkage_range(floor, kWinterAir, units);
  if (!whole.empty() && floor.at_laying > kWinterAir) {
    section.lines.push_back(
        {"Too dry", "At " + text_of(kWinterAir) + ", as in heated rooms in frost, the floor is " +
                        whole +
                        " shorter than as laid. Where heavy pieces hold it the joints "
                        "open" +
                        (panel.empty() ? "" : ", by " + panel + " a panel") +
                        ", elsewhere it draws back from the skirting."});
  }
  section.lines.push_back(
      {"Reckoned", (moving.laid_at_dwell_mean
                        ? "Laid at " + text_of(floor.at_laying) +
                              ", the room's mean over the dwell. Panels in closed cartons take up "
                              "little of it in days: where they came drier, the floor grows more."
                        : "Laid at " + text_of(floor.at_laying) +
                              ", the middle of the climate to keep, since no dwell was logged.")});
}

std::string sentence_from(std::string clause) {
  clause.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(clause.front())));
  return clause + ".";
}

std::string temperature_range_text(const ServiceClimate& climate, ShownUnits units) {
  return fixed(shown_celsius(climate.temperature_low.value(), units), 1) + " to " +
         text_of(climate.temperature_high, units);
}

}  // namespace

std::string humidity_range_text(const ServiceClimate& climate) {
  return fixed(percent_from_rh(climate.rh_low), 1) + " to " + text_of(climate.rh_high);
}

CareSection laid_section(const RoomHandover& room, ShownUnits units) {
  CareSection section{"What was laid", {}, {}};
  const std::string laid = text_from_laid_floor(room.laying.laid, units.imperial);
  section.lines.push_back({"Floor", room.floor_product});
  section.lines.push_back(
      {"Laid", time_text(room.laying) + (room.laid_by.empty() ? "" : ", by " + room.laid_by)});
  section.lines.push_back(
      {"Noted", laid.empty() ? "No gaps, joints or rows were noted." : sentence_from(laid)});
  for (const std::string& finding : room.findings) {
    section.lines.push_back(
        {&finding == &room.findings.front() ? "Not as planned" : "", sentence_from(finding)});
  }
  if (!room.laid_remark.empty()) {
    section.lines.push_back({"Remark", room.laid_remark});
  }
  return section;
}

CareSection climate_section(const RoomHandover& room, ShownUnits units) {
  CareSection section{"Climate to keep", {}, {}};
  section.lines.push_back({"Keep", temperature_range_text(room.climate, units) + " and " +
                                       humidity_range_text(room.climate) +
                                       ", all year (source: " + room.climate.source + ")."});
  section.lines.push_back(
      {"How",
       "A hygrometer in the room shows it. Dry in winter: heat less, humidify. Damp in "
       "summer: dry the air, and air the room when it is cooler outside."});
  if (room.moving) {
    add_movement(section, *room.moving, units);
  }
  for (const std::string& missing : room.missing) {
    section.lines.push_back({&missing == &room.missing.front() ? "Not known" : "", missing});
  }
  return section;
}

CareSection care_section() {
  return {"Daily care (common practice, no source)",
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
           {"Floor heating",
            "Where there is one: change its temperature by little each day, keep "
            "the surface as cool as the floor's own instructions ask, and leave no "
            "thick carpet or mattress on it: heat gathers below."},
           {"Gaps",
            "Keep the gap at walls, pipes and door frames free. Fill it with nothing, and "
            "fix skirting to the wall, never to the floor."}},
          {}};
}

CareSection watch_section(const HandoverReport& report) {
  return {"What to look for, and whom to call",
          {{"Look for",
            "Joints that open, edges that rise, boards that lift or sound hollow, "
            "skirting that is pushed, damp patches or a musty smell."},
           {"First",
            "Read the hygrometer, note the date and value, take a photo. Water below or "
            "beside the floor: stop it first."},
           {"Call", report.installer + ", who laid it. Heating, pipes, cables and the building's "
                                       "structure: licensed trades."},
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
