// What the room's air was since the laying, and what the floor did with it.
#include <algorithm>
#include <cmath>

#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/charts/course_curve.hpp"
#include "logger/app/handover/care_sections.hpp"
#include "logger/app/handover/laid_content.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::plan::CareSection;
using analysis::readiness::DaysOutside;
using analysis::readiness::kLeastSpellDays;
using analysis::readiness::kServiceDay;
using analysis::readiness::MovementPair;
using analysis::readiness::ServiceDay;
using analysis::readiness::ServiceMovement;
using analysis::readiness::ServiceReport;
using analysis::readiness::Spell;
using analysis::readiness::text_from_date;

namespace {

constexpr std::size_t kMostChartDays = 400;  // more are drawn as means of several days

bool is_whole(double value) { return std::abs(value - std::round(value)) < 1e-6; }

std::string counted_days(std::size_t count) {
  return std::to_string(count) + (count == 1 ? " day" : " days");
}

std::string outside_text(const ServiceReport& report) {
  const DaysOutside& outside = report.outside;
  if (outside.any == 0) {
    return "none of them outside the climate to keep";
  }
  std::string text;
  for (const auto& [count, what] :
       {std::pair{outside.too_dry, " too dry"}, std::pair{outside.too_damp, " too damp"},
        std::pair{outside.too_cold, " too cold"}, std::pair{outside.too_warm, " too warm"}}) {
    if (count > 0) {
      text += (text.empty() ? "" : ", ") + std::to_string(count) + what;
    }
  }
  const bool twice =
      outside.too_dry + outside.too_damp + outside.too_cold + outside.too_warm > outside.any;
  return std::to_string(outside.any) + " of them outside the climate to keep (" + text +
         (twice ? "; a day can be two of these" : "") + ")";
}

std::string logged_text(const ServiceReport& report) {
  if (report.days_elapsed == 0) {
    return "No day is over yet since the laying ended.";
  }
  const std::string count =
      std::to_string(report.days.size()) + " of " + counted_days(report.days_elapsed);
  if (report.days.empty()) {
    return count + ": none of them has readings in 12 of its 24 hours.";
  }
  const bool all = report.days.size() == report.days_elapsed;
  return count + (all ? "" : " (the others have readings in fewer than 12 of their hours)") +
         ", the last one from " + text_from_date(report.days.back().from) + "; " +
         outside_text(report) + ".";
}

std::string spell_text(const char* which, const Spell& spell) {
  return std::string(which) + " 14 days " + text_of(spell.mean) + " (from " +
         text_from_date(spell.range.from) + ", " + std::to_string(spell.recorded) + " recorded)";
}

std::string gap_text(const MovementPair& moved, const MovingFloor& moving, ShownUnits units) {
  if (!moving.floor.gap) {
    return "";
  }
  const bool stated = moved.stated.gap_closed.value_or(false);
  const bool typical = moved.typical.gap_closed.value_or(false);
  return " of " + told_gap(*moving.floor.gap, units) + " left (" + moving.gap_source + ")" +
         (typical && stated   ? ": more than the gap, look at the walls"
          : typical || stated ? ": by the larger figure more than the gap, look at the walls"
                              : "");
}

std::string side_text(const MovingFloor& moving) {
  return moving.floor.run.hold == analysis::physics::FloorHold::pinned_one_side
             ? " at its free side"
             : " a side";
}

void add_moved(CareSection& section, const MovementPair& moved, const MovingFloor& moving,
               ShownUnits units) {
  const auto grew = range_of(moved, &ServiceMovement::growth_each_side);
  section.lines.push_back({"It grew", shows_nothing(grew.high, units)
                                          ? "not at all."
                                          : range_text(grew, units) + side_text(moving) +
                                                gap_text(moved, moving, units) + "."});
  const auto shrank = range_of(moved, &ServiceMovement::shrinkage);
  if (shows_nothing(shrank.high, units)) {
    section.lines.push_back({"It shrank", "not at all."});
    return;
  }
  std::string text = range_text(shrank, units) + " over its length";
  if (const auto panel = panel_range(moved)) {
    text += "; where something holds it, one " + moving.opening_joints + " opened by up to " +
            range_text(*panel, units);
  }
  section.lines.push_back({"It shrank", text + "."});
}

std::string at_most_text(const LengthRange& range, const std::string& where, ShownUnits units) {
  return shows_nothing(range.high, units) ? "not at all"
                                          : "by at most " + short_length(range.high, units) + where;
}

void add_bounds(CareSection& section, const RoomHandover& room, ShownUnits units) {
  const ServiceReport& report = *room.service;
  std::string text = "By a usual board's growth per humidity and " + room.moving->growth_source +
                     ", without delay over 14 days: how fast a laid floor follows is not measured.";
  if (report.moved_at_once && report.single) {
    const MovementPair& moved = *report.moved_at_once;
    text += " Had it followed every single day (" + text_of(report.single->driest.mean) + " to " +
            text_of(report.single->dampest.mean) + "), it would have grown " +
            at_most_text(range_of(moved, &ServiceMovement::growth_each_side),
                         side_text(*room.moving), units) +
            " and shrunk " + at_most_text(range_of(moved, &ServiceMovement::shrinkage), "", units) +
            ".";
  }
  section.lines.push_back({"Reckoned", text});
}

// Days in a row whose humidity lies outside, joined.
std::vector<analysis::drawing::ChartMark> marks_of(const RoomHandover& room) {
  std::vector<analysis::drawing::ChartMark> marks;
  for (const ServiceDay& day : room.service->days) {
    const auto by = outside_of(day, room.climate);
    const auto to = day.from + kServiceDay;
    if (!by.dry && !by.damp) {
      continue;
    }
    if (!marks.empty() && marks.back().range.to == day.from) {
      marks.back().range.to = to;
    } else {
      marks.push_back({{day.from, to}, ""});
    }
  }
  return marks;
}

// Up to the last day that counts; days joined so that there are no more than kMostChartDays
// buckets, and the last one ends with that day. REQUIRES: a day.
analysis::drawing::TimeChart chart_of(const RoomHandover& room) {
  const ServiceReport& report = *room.service;
  const std::size_t shown = report.days.back().number + 1;
  const std::size_t buckets = std::min(shown, kMostChartDays);
  analysis::drawing::TimeChart chart;
  chart.title = "RH of the room air since laying";
  chart.unit = "%RH";
  chart.from = *room.laying.finished_at;
  chart.bucket =
      kServiceDay * static_cast<std::int64_t>(shown) / static_cast<std::int64_t>(buckets);
  chart.limit_low = percent_from_rh(room.climate.rh_low);
  chart.limit_high = percent_from_rh(room.climate.rh_high);
  chart.limit_decimals = is_whole(*chart.limit_low) && is_whole(*chart.limit_high) ? 0 : 1;
  chart.excursions = marks_of(room);
  BucketMeans air;
  for (const ServiceDay& day : report.days) {
    air.add(day.number * buckets / shown,
            {percent_from_rh(day.low), percent_from_rh(day.mean), percent_from_rh(day.high)},
            buckets);
  }
  chart.lines.push_back(line_from("room air", air.take(), [](double percent) { return percent; }));
  return chart;
}

}  // namespace

CareSection service_section(const RoomHandover& room, ShownUnits units) {
  CareSection section{"Since it was laid", {}, {}};
  const ServiceReport& report = *room.service;
  section.lines.push_back({"Logged", logged_text(report)});
  if (report.days.empty()) {
    return section;
  }
  if (report.spells) {
    section.lines.push_back({"Air", spell_text("Dampest", report.spells->dampest) + "; " +
                                        spell_text("driest", report.spells->driest) + "."});
  } else {
    section.lines.push_back({"Air", "No 14 days with " + std::to_string(kLeastSpellDays) +
                                        " recorded yet: nothing is said of the floor's movement."});
  }
  if (report.moved) {
    add_moved(section, *report.moved, *room.moving, units);
    add_bounds(section, room, units);
  }
  section.chart = chart_of(room);
  return section;
}

}  // namespace logger::app
