// What the room's air was since the laying, and what the floor did with it.
#include <algorithm>

#include "logger/app/handover/care_sections.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;
using analysis::plan::CareSection;
using analysis::readiness::DaysOutside;
using analysis::readiness::kLeastSpellDays;
using analysis::readiness::kSpellDays;
using analysis::readiness::MovementPair;
using analysis::readiness::ServiceDay;
using analysis::readiness::ServiceReport;
using analysis::readiness::Spell;

namespace {

constexpr std::size_t kMostChartDays = 400;  // more are drawn as means of several days

std::string date_text(UtcMicros at) { return minute_text_from_utc(at).substr(0, 10); }

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
  return std::to_string(outside.any) + " of them outside the climate to keep (" + text + ")";
}

std::string spell_text(const char* which, const Spell& spell) {
  return std::string(which) + " 14 days " + text_of(spell.mean) + " (from " +
         date_text(spell.range.from) + ", " + std::to_string(spell.recorded) + " recorded)";
}

std::string gap_text(const MovementPair& moved, const MovingFloor& moving, ShownUnits units) {
  if (!moving.floor.gap) {
    return "";
  }
  const bool stated = moved.stated.gap_closed.value_or(false);
  const bool typical = moved.typical.gap_closed.value_or(false);
  return " of " + short_length(*moving.floor.gap, units) + " left (" + moving.gap_source + ")" +
         (typical  ? ": more than the gap, look at the walls"
          : stated ? ": by the stated limit more than the gap, look at the walls"
                   : "");
}

void add_moved(CareSection& section, const MovementPair& moved, const MovingFloor& moving,
               ShownUnits units) {
  section.lines.push_back(
      {"It grew", short_length(moved.typical.growth_each_side, units) + " to " +
                      short_length(moved.stated.growth_each_side, units) +
                      (moving.floor.run.hold == analysis::physics::FloorHold::pinned_one_side
                           ? " at its free side"
                           : " a side") +
                      gap_text(moved, moving, units) + "."});
  std::string shrank = short_length(moved.typical.shrinkage, units) + " to " +
                       short_length(moved.stated.shrinkage, units) + " over its length";
  if (moved.typical.shrinkage_of_panel && moved.stated.shrinkage_of_panel &&
      moved.stated.shrinkage.value() > 0.0) {
    shrank += "; where something holds it, a joint opened by up to " +
              short_length(*moved.typical.shrinkage_of_panel, units) + " to " +
              short_length(*moved.stated.shrinkage_of_panel, units);
  }
  section.lines.push_back({"It shrank", shrank + "."});
}

void add_bounds(CareSection& section, const ServiceReport& report, ShownUnits units) {
  std::string text =
      "By the job's growth per humidity and that of a usual board, without delay over 14 days: "
      "how fast a laid floor follows was measured by nobody.";
  if (report.moved_at_once && report.single) {
    text += " Had it followed every single day (" + text_of(report.single->driest.mean) + " to " +
            text_of(report.single->dampest.mean) + "), it had grown by at most " +
            short_length(report.moved_at_once->stated.growth_each_side, units) +
            " a side and shrunk by at most " +
            short_length(report.moved_at_once->stated.shrinkage, units) + ".";
  }
  section.lines.push_back({"Reckoned", text});
}

// Up to the last day that counts; days joined so that there are no more than kMostChartDays
// buckets. REQUIRES: a day.
analysis::drawing::TimeChart chart_of(const RoomHandover& room) {
  const ServiceReport& report = *room.service;
  const std::size_t shown = report.days.back().number + 1;
  const std::size_t joined = (shown + kMostChartDays - 1) / kMostChartDays;
  analysis::drawing::TimeChart chart;
  chart.title = "RH of the room air since laying";
  chart.unit = "%RH";
  chart.from = *room.laying.finished_at;
  chart.bucket = analysis::base::micros_from_hours(24.0 * static_cast<double>(joined));
  chart.limit_low = percent_from_rh(room.climate.rh_low);
  chart.limit_high = percent_from_rh(room.climate.rh_high);
  analysis::drawing::ChartLine line{"room air", {}};
  line.buckets.resize((shown + joined - 1) / joined);
  std::vector<double> counts(line.buckets.size(), 0.0);
  for (const ServiceDay& day : report.days) {
    const std::size_t at = day.number / joined;
    auto& bucket = line.buckets[at];
    const double low = percent_from_rh(day.low);
    const double high = percent_from_rh(day.high);
    if (!bucket) {
      bucket = analysis::drawing::RangeBucket{low, 0.0, high};
    }
    bucket->low = std::min(bucket->low, low);
    bucket->high = std::max(bucket->high, high);
    bucket->mean += (percent_from_rh(day.mean) - bucket->mean) / ++counts[at];
  }
  chart.lines.push_back(std::move(line));
  return chart;
}

}  // namespace

CareSection service_section(const RoomHandover& room, ShownUnits units) {
  CareSection section{"Since it was laid", {}, {}};
  const ServiceReport& report = *room.service;
  section.lines.push_back(
      {"Logged", counted_days(report.days.size()) + " of " + std::to_string(report.days_elapsed) +
                     (report.days.empty() ? ""
                                          : ", the last one " + date_text(report.days.back().from) +
                                                "; " + outside_text(report)) +
                     "."});
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
    add_bounds(section, report, units);
  }
  section.chart = chart_of(room);
  return section;
}

}  // namespace logger::app
