// Section about the slab.
#include <algorithm>

#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/outlook/texts/section_texts.hpp"
#include "logger/app/text/terminal_chart.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;
using analysis::base::RelativeHumidity;
using analysis::readiness::CrossingDate;
using analysis::readiness::ForecastRefusal;
using analysis::readiness::RefusedForecast;
using analysis::readiness::SlabForecast;
using analysis::readiness::text_from_date;

namespace {

std::string date_text(const CrossingDate& date, double horizon_years) {
  switch (date.kind) {
    case CrossingDate::Kind::already_below:
      return "by now";
    case CrossingDate::Kind::dated:
      return "by " + text_from_date(date.at);
    case CrossingDate::Kind::beyond_horizon:
      return "not within " + fixed(horizon_years, 0) + " years";
  }
  return {};
}

std::string forecast_text(const SlabForecast& forecast, const SlabOutlook& slab) {
  const double years = slab.horizon_years;
  const std::string guarded =
      slab.forecast_limit != slab.limit ? " (the limit less the guard)" : "";
  return "down to " + text_of(slab.forecast_limit) + guarded + " with a chance of 10 % " +
         date_text(forecast.early, years) + ", 50 % " + date_text(forecast.median, years) +
         ", 90 % " + date_text(forecast.late, years) + " (" +
         std::to_string(forecast.readings_used) +
         " half-day means). It plans a visit and does "
         "not replace the test.";
}

std::string measured_text(const SlabProbeOutlook& probe, UtcMicros now) {
  if (!probe.placed_at) {
    return "nobody noted when it was put in its sleeve (dwellog note JOBDIR placement " +
           probe.channel_id + ")";
  }
  if (*probe.placed_at > now) {
    return "not placed yet; its placement is noted for " + minute_text_from_utc(*probe.placed_at);
  }
  if (probe.settled_at && *probe.settled_at > now) {
    return "settling in its sleeve until " + minute_text_from_utc(*probe.settled_at) +
           "; readings count from then";
  }
  if (!probe.mean) {
    return "too little was recorded lately for a mean";
  }
  return text_of(*probe.mean) + " at depth" +
         (probe.expanded_uncertainty
              ? " ± " + text_of(*probe.expanded_uncertainty) + " (k = 2)"
              : ", how accurate is not known (boxes[].channels[].accuracy)") +
         ", in its sleeve since " + minute_text_from_utc(*probe.placed_at);
}

void add_probe(OutlookSection& section, const SlabProbeOutlook& probe, const SlabOutlook& slab,
               UtcMicros now) {
  section.lines.push_back({probe.channel_id, measured_text(probe, now)});
  if (!probe.forecast) {
    return;
  }
  if (!*probe.forecast) {
    section.lines.push_back({"", "No drying forecast: " + text_of(probe.forecast->error())});
    return;
  }
  section.lines.push_back({"Forecast", forecast_text(probe.forecast->value(), slab)});
  if (probe.default_uncertainty) {
    section.lines.push_back({"",
                             "The probe's uncertainty is not known; the forecast took 0.8 %RH "
                             "(boxes[].channels[].accuracy)."});
  }
  if (probe.course_cut) {
    section.lines.push_back({"", "It rests on the newest " + std::to_string(kMostSlabReadings) +
                                     " half-day means; older ones are left out."});
  }
}

std::string places_text(const SlabOutlook& slab) {
  const std::string channels = std::to_string(slab.probes.size()) +
                               (slab.probes.size() == 1 ? " channel is" : " channels are");
  const bool enough = slab.probes.size() >= *slab.places_required;
  return std::to_string(*slab.places_required) + " for this floor, " + channels + " declared" +
         (enough ? "" : ": too few for the practice, the wettest place decides");
}

std::string depth_text(const SlabOutlook& slab, ShownUnits units) {
  std::string text = short_length(*slab.standard_depth, units) + " below the drying face";
  const bool elsewhere = slab.probe_depth && *slab.probe_depth != *slab.standard_depth;
  return text + (elsewhere ? "; the probe is at " + short_length(*slab.probe_depth, units) : "");
}

void add_tests(OutlookSection& section, const std::vector<std::string>& tests) {
  for (const std::string& test : tests) {
    section.lines.push_back({"Test", test});
  }
}

// Columns from the first to the newest reading of all probes.
TerminalLine course_line(const SlabProbeOutlook& probe, std::int64_t first, std::int64_t slots,
                         const std::string& mark) {
  TerminalLine line{probe.channel_id, mark, {}};
  line.columns.resize(kChartColumns);
  for (const auto& slot : probe.course) {
    const auto columns = static_cast<std::int64_t>(kChartColumns);
    const std::int64_t from = (slot.number - first) * columns / slots;
    const std::int64_t to = std::max(from + 1, (slot.number - first + 1) * columns / slots);
    for (std::int64_t i = from; i < std::min(to, columns); ++i) {
      line.columns[static_cast<std::size_t>(i)] = 100.0 * slot.mean;
    }
  }
  return line;
}

std::string slab_chart(const SlabOutlook& slab, UtcMicros now) {
  static const std::vector<std::string> kMarks{"●", "○", "▲", "△", "■", "□"};
  std::optional<std::int64_t> first, last;
  for (const SlabProbeOutlook& probe : slab.probes) {
    if (!probe.course.empty()) {
      first = std::min(first.value_or(probe.course.front().number), probe.course.front().number);
      last = std::max(last.value_or(probe.course.back().number), probe.course.back().number);
    }
  }
  if (!first || *last == *first) {
    return {};
  }
  TerminalChart chart;
  chart.unit = "%RH";
  chart.span = {UtcMicros{*first * kSlabSlot.count()},
                std::min(UtcMicros{(*last + 1) * kSlabSlot.count()}, now)};
  for (std::size_t i = 0; i < slab.probes.size(); ++i) {
    chart.lines.push_back(
        course_line(slab.probes[i], *first, *last - *first + 1, kMarks[i % kMarks.size()]));
  }
  chart.limit = TerminalLimit{"limit " + text_of(slab.limit), percent_from_rh(slab.limit)};
  return text_from_chart(chart);
}

}  // namespace

std::string text_of(const RefusedForecast& refused) {
  switch (refused.reason) {
    case ForecastRefusal::drying_start_unknown:
      return "the job does not tell since when the slab could dry "
             "(rooms[].slab_build.drying_from).";
    case ForecastRefusal::thickness_unknown:
      return "the job does not tell the slab's thickness (rooms[].slab_build.thickness_mm).";
    case ForecastRefusal::probe_depth_unknown:
      return "the job does not tell the probe's depth (rooms[].slab_build.probe_depth_mm).";
    case ForecastRefusal::probe_depth_not_standard:
      return "the probe is not at the depth the practice asks; set it there and correct "
             "rooms[].slab_build.probe_depth_mm.";
    case ForecastRefusal::no_barrier_confirmed:
      return "water may come from below: find out whether there is a barrier under the slab "
             "(rooms[].slab_build.barrier_below).";
    case ForecastRefusal::no_settled_readings:
      return "there are no settled readings at depth yet; about " + fixed(refused.days_needed, 0) +
             " days of them are needed.";
    case ForecastRefusal::too_few_readings:
      return "there are too few readings; about " + fixed(refused.days_needed + 0.5, 0) +
             " more days of them are needed.";
    case ForecastRefusal::reading_before_drying:
      return "a reading lies before drying could begin; check rooms[].slab_build.drying_from and "
             "when the probe was placed.";
    case ForecastRefusal::slab_outside_model:
      return "thickness or strength lies outside what the curves cover (30 to 500 mm, 12 to 80 "
             "MPa).";
    case ForecastRefusal::rh_outside_model:
      return "a reading lies outside 60 to 103 %RH, or the limit outside 70 to 95 %RH; check probe "
             "and sleeve.";
    case ForecastRefusal::temperature_outside_model:
      return "the slab's temperature lies outside 0 to 50 °C.";
    case ForecastRefusal::air_not_below_limit:
      return "in air as damp as that of the last days the slab never comes down to the limit; dry "
             "the air.";
    case ForecastRefusal::already_at_limit:
      return "the readings are down at the limit already; the test decides now.";
    case ForecastRefusal::readings_rising:
      return "the readings rise: look for water, a sleeve that leaks, or a warming slab.";
    case ForecastRefusal::poor_fit:
      return "no drying curve runs through the readings: a screed, an admixture, new water or a "
             "disturbed probe would explain it.";
  }
  return {};
}

OutlookSection slab_section(const RoomOutlook& room, ShownUnits units) {
  const SlabOutlook& slab = *room.slab;
  OutlookSection section{"Slab", {}, slab_chart(slab, room.assessment.at)};
  section.lines.push_back({"Limit", text_of(slab.limit) + " at depth (" +
                                        room.requirements.slab->rh_high.source + ")"});
  for (const SlabProbeOutlook& probe : slab.probes) {
    add_probe(section, probe, slab, room.assessment.at);
  }
  if (slab.standard_depth) {
    section.lines.push_back({"Depth", depth_text(slab, units)});
  }
  if (slab.places_required) {
    section.lines.push_back({"Places", places_text(slab)});
  }
  if (slab.air_rh) {
    section.lines.push_back({"Air above", text_of(*slab.air_rh) + ", mean of " +
                                              fixed(slab.air_days, 1) + " recorded days" +
                                              "; the forecast takes it to stay so"});
  }
  add_tests(section, slab.tests);
  add_missing(section, slab.missing);
  return section;
}

OutlookSection wood_subfloor_section(const RoomOutlook& room) {
  OutlookSection section{"Wood subfloor", {}, {}};
  add_tests(section, room.wood_subfloor->tests);
  add_missing(section, room.wood_subfloor->missing);
  return section;
}

}  // namespace logger::app
