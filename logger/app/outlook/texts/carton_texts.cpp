// Sections about time and cartons.
#include <algorithm>

#include "logger/app/charts/course_curve.hpp"
#include "logger/app/outlook/texts/section_texts.hpp"
#include "logger/app/text/terminal_chart.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::Celsius;
using analysis::base::minute_text_from_utc;
using analysis::base::UtcMicros;
using analysis::readiness::StackResult;
using analysis::readiness::room::DecidingPart;
using analysis::readiness::room::DwellBasis;
using analysis::readiness::room::DwellExpectation;
using analysis::readiness::room::ExpectedTime;
using analysis::readiness::room::NoTime;

namespace {

constexpr const char* kIfBrought = "only if the room goes on being brought into the band";
constexpr const char* kIfItStays = "only if the room stays as it is";

std::string reason_text(NoTime reason) {
  switch (reason) {
    case NoTime::no_data:
      return "no time: too little was recorded";
    case NoTime::gap:
      return "no time: there are no fresh readings, or a gap in the last hours";
    case NoTime::flat:
      return "no time: the room is out of its band and does not move towards it";
    case NoTime::away:
      return "no time: the room moves away from its band, or would have left it again";
    case NoTime::too_far_off:
      return "no time: at this pace it is too far off to say";
    case NoTime::not_modelled:
      return "no time: nothing is there to compute it with";
    case NoTime::room_too_cold:
      return "no time: the room is too cold for the cartons";
    case NoTime::core_disagrees:
      return "no time: by the computation it has come to the room, but by its gate it has not "
             "(`dwellog status` says why)";
  }
  return {};
}

// `condition`: what likely and late rest on.
std::string range_text(const ExpectedTime& time, const std::string& condition) {
  const std::string likely = time.likely == time.early
                                 ? "likely then, late "
                                 : "likely " + minute_text_from_utc(time.likely) + ", late ";
  return "not before " + minute_text_from_utc(time.early) + "; " + likely +
         minute_text_from_utc(time.late) + ", " + condition;
}

std::string dwell_text(const WhenOutlook& when) {
  if (when.delivery_ahead) {
    return "hours count from the delivery; the delivery is noted for " +
           minute_text_from_utc(*when.delivery_ahead);
  }
  if (!when.dwell) {
    return reason_text(when.dwell.error());
  }
  const DwellExpectation& dwell = when.dwell.value();
  switch (dwell.basis) {
    case DwellBasis::complete:
      return "the hours are complete";
    case DwellBasis::if_it_stays_so:
      return "not before " + minute_text_from_utc(dwell.at.early) +
             "; then, if the room stays in its band";
    case DwellBasis::if_trend_goes_on:
      return range_text(dwell.at, kIfBrought) +
             (dwell.starts_anew ? "; the hours so far will be lost by then" : "");
  }
  return {};
}

std::string core_text(const WhenOutlook& when, UtcMicros now) {
  if (!*when.core) {
    return reason_text(when.core->error());
  }
  const ExpectedTime& time = when.core->value();
  return time.late <= now
             ? "has come to the room"
             : range_text(time, "by the material, if the air stays as in the last 3 h");
}

std::string celsius_range(double low, double high, ShownUnits units) {
  const std::string from = fixed(shown_celsius(low, units), 1);
  const std::string to = text_of(Celsius{high}, units);
  return to.starts_with(from + " ") ? to : from + " to " + to;
}

void add_core(OutlookSection& section, const HeatOutlook& heat, ShownUnits units) {
  const std::string air =
      heat.air ? "; room air " + text_of(*heat.air, units) + " (mean of 3 h)" : "";
  if (heat.core && !heat.core->measured) {
    const StackResult& core = *heat.core;
    const auto [low, high] =
        std::minmax({core.fast.temperature.value(), core.slow.temperature.value()});
    section.lines.push_back({"Core", celsius_range(low, high, units) +
                                         " computed, usual material " +
                                         text_of(core.mid.temperature, units) + air});
  }
  if (heat.probe) {
    section.lines.push_back({"Probe", text_of(Celsius{heat.probe->value}, units) +
                                          ", its newest reading, at " +
                                          minute_text_from_utc(heat.probe->at) +
                                          " (the gate takes its mean of 1 h)" + air});
  }
}

std::string hours_to_go(const std::optional<analysis::base::Micros>& time) {
  return time ? long_time(*time) : "over 60 days";
}

// "14 to 18 h", "18 h to over 60 days"; nothing known is beyond everything.
std::string hours_range(const analysis::readiness::StackTimeToWarm& times) {
  const auto shorter = [](const auto& a, const auto& b) { return a && (!b || *a < *b); };
  const auto [shortest, longest] = std::minmax({times.fast, times.mid, times.slow}, shorter);
  const std::string from = hours_to_go(shortest);
  const std::string to = hours_to_go(longest);
  const std::string unit = from.substr(from.find(' '));
  const bool same_unit = to.ends_with(unit) && to.find(' ') == to.size() - unit.size();
  return from == to  ? to
         : same_unit ? from.substr(0, from.size() - unit.size()) + " to " + to
                     : from + " to " + to;
}

void add_warm(OutlookSection& section, const HeatOutlook& heat, const std::string& within) {
  if (!heat.core) {
    return;
  }
  const StackResult& core = *heat.core;
  if (core.slow.warm_at && core.fast.warm_at) {
    const UtcMicros since = std::max(*core.slow.warm_at, *core.fast.warm_at);
    section.lines.push_back(
        {"To room", "came within " + within + " of the room by " + minute_text_from_utc(since) +
                        (core.measured ? ", measured" : ", also a slow material")});
  } else if (heat.no_time) {
    section.lines.push_back({"To room", reason_text(*heat.no_time)});
  } else if (heat.to_warm) {
    section.lines.push_back(
        {"To room", "comes within " + within + " of the room in " + hours_range(*heat.to_warm) +
                        " from now, by the material (the usual one in " +
                        hours_to_go(heat.to_warm->mid) + "), if the air stays as in the last 3 h"});
  }
  if (core.unknown_air_felt > analysis::base::Micros{0}) {
    section.lines.push_back({"", long_time(core.unknown_air_felt) +
                                     " of the air it was computed from are an estimate across "
                                     "gaps"});
  }
}

// Buckets spread over the columns: the mean of those that fall in one, or one over several.
template <class Pick>
auto columns_from(const CourseCurve& curve, Pick pick) {
  std::vector<std::optional<decltype(pick(CourseValue{}))>> columns(kChartColumns);
  for (std::size_t i = 0; i < kChartColumns && !curve.empty(); ++i) {
    const auto& value = curve[i * curve.size() / kChartColumns];
    if (value) {
      columns[i] = pick(*value);
    }
  }
  return columns;
}

std::string stack_chart(const RoomOutlook& room, ShownUnits units) {
  if (!room.course) {
    return {};
  }
  const RoomCourse& course = *room.course;
  const bool measured = any_value(course.core_measured);
  if (!measured && !any_value(course.core_computed)) {
    return {};
  }
  const auto mean = [&](const CourseValue& v) { return shown_celsius(v.mean, units); };
  TerminalChart chart;
  chart.unit = temperature_unit(units);
  chart.span = {course.from, std::min(course.to(), room.assessment.at)};
  if (measured) {
    chart.lines.push_back({"core, measured", "●", columns_from(course.core_measured, mean)});
  } else {
    chart.lines.push_back({"core, usual material", "●", columns_from(course.core_computed, mean)});
    chart.band =
        TerminalBand{"fast to slow", columns_from(course.core_computed, [&](const auto& v) {
                       return std::pair(shown_celsius(v.low, units), shown_celsius(v.high, units));
                     })};
  }
  chart.lines.push_back({"room air", "·", columns_from(course.air_celsius, mean)});
  return text_from_chart(chart);
}

}  // namespace

std::string together_text(const WhenOutlook& when, UtcMicros now) {
  const auto& ready = when.ready;
  const std::string part = ready.decided_by == DecidingPart::dwell ? "the dwell" : "the core";
  if (!ready.at) {
    return "no time as long as there is none for " + part +
           (when.not_before ? "; in any case not before " + minute_text_from_utc(*when.not_before)
                            : "");
  }
  const ExpectedTime& time = ready.at.value();
  if (time.late <= now) {
    return when.in_doubt ? "done by what was recorded, but in doubt now (see Besides)"
           : when.core   ? "no hours and no warmth to wait for any more"
                         : "no hours to wait for any more";
  }
  if (time.early == time.late) {
    return "not before " + minute_text_from_utc(time.early) + "; " + part + " decides";
  }
  const bool brought = when.dwell && when.dwell.value().basis == DwellBasis::if_trend_goes_on;
  return range_text(time, brought ? kIfBrought : kIfItStays) + "; " + part + " decides";
}

std::string ready_sentence(const WhenOutlook& when, UtcMicros now) {
  const auto& ready = when.ready;
  const bool by_hours = ready.decided_by == DecidingPart::dwell;
  if (!ready.at) {
    return std::string(by_hours ? "When the hours are complete"
                                : "When the cartons are warmed through") +
           " can't be said yet" +
           (when.not_before ? "; not before " + minute_text_from_utc(*when.not_before) : "") + ".";
  }
  const ExpectedTime& time = ready.at.value();
  const std::string what = when.core ? "The hours are complete and the cartons are warmed through"
                                     : "The hours are complete";
  if (time.late <= now) {
    return what + (when.in_doubt ? " by what was recorded, but that is in doubt now." : ".");
  }
  const std::string slower = !when.core ? ""
                             : by_hours ? " The hours take longest."
                                        : " The cartons take longest.";
  if (time.early == time.late) {
    return what + " not before " + minute_text_from_utc(time.early) + "." + slower;
  }
  const bool brought = when.dwell && when.dwell.value().basis == DwellBasis::if_trend_goes_on;
  return what + " " + range_text(time, brought ? kIfBrought : kIfItStays) + "." + slower;
}

OutlookSection when_section(const RoomOutlook& room) {
  const WhenOutlook& when = room.when;
  OutlookSection section{"When", {}, {}};
  section.lines.push_back({"Dwell", dwell_text(when)});
  if (when.core) {
    section.lines.push_back({"Core", core_text(when, room.assessment.at)});
  }
  section.lines.push_back({"Together", together_text(when, room.assessment.at)});
  std::string others;
  for (const auto& gate : when.open_otherwise) {
    others += (others.empty() ? "" : ", ") + spaced(gate.id) + " (" +
              std::string(name_of(gate.state)) + ")";
  }
  if (!others.empty()) {
    section.lines.push_back({"Besides", "still open: " + others});
  }
  std::string by_hand;
  for (const std::string& gate : when.open_by_hand) {
    by_hand += (by_hand.empty() ? "" : ", ") + spaced(gate);
  }
  if (!by_hand.empty()) {
    section.lines.push_back({"By hand", "still to be looked at and noted: " + by_hand});
  }
  add_missing(section, when.missing);
  return section;
}

OutlookSection heat_section(const RoomOutlook& room, ShownUnits units) {
  const HeatOutlook& heat = room.heat;
  OutlookSection section{"Cartons: heat", {}, stack_chart(room, units)};
  if (heat.delivered) {
    section.lines.push_back({"Came with", text_of(*heat.delivered, units) + ", as noted"});
  }
  add_core(section, heat, units);
  add_warm(section, heat, text_of(room.requirements.core_within.value, units));
  if (!heat.advice.empty()) {
    section.lines.push_back({"Stacking", "Hours here count from the delivery."});
  }
  for (const std::string& sentence : heat.advice) {
    section.lines.push_back({"", sentence});
  }
  add_missing(section, heat.missing);
  return section;
}

std::string wrap_text(analysis::physics::CartonWrap wrap) {
  using analysis::physics::CartonWrap;
  return wrap == CartonWrap::film_closed      ? "film closed all round"
         : wrap == CartonWrap::film_open_ends ? "film with open ends"
                                              : "cardboard only";
}

OutlookSection moisture_section(const RoomOutlook& room, ShownUnits units) {
  const MoistureOutlook& moisture = room.moisture;
  OutlookSection section{"Cartons: moisture", {}, {}};
  if (moisture.cartons) {
    const auto& cartons = *moisture.cartons;
    section.lines.push_back(
        {"Taken up",
         percent_of(cartons.taken_up.low.value(), 2) + " to " +
             percent_of(cartons.taken_up.high.value(), 2) + " of a change of humidity in " +
             long_time(*moisture.in_cartons) + ", wrapped in " + wrap_text(moisture.wrap) +
             (moisture.wrap_assumed ? ", which is assumed" : "") +
             (moisture.carton_size_assumed ? " (so is the size of a usual carton)" : "") +
             ". 90 % would take " + long_time(cartons.shortest_to_90_percent) + " to " +
             long_time(cartons.longest_to_90_percent) + "."});
    section.lines.push_back({"", "Planks with bare edges would have taken up " +
                                     percent_of(cartons.bare_edges.low.value(), 0) + " to " +
                                     percent_of(cartons.bare_edges.high.value(), 0) +
                                     ", in a rim " + short_length(cartons.shallowest_rim, units) +
                                     " to " + short_length(cartons.deepest_rim, units) + " deep."});
    section.lines.push_back({"",
                             "Hours in the room warm cartons through; the moisture of what is in "
                             "them has not equilibrated with the room."});
  }
  if (moisture.wood_emc && moisture.board_emc) {
    section.lines.push_back({"Unwrapped", "wood would go to " +
                                              percent_of(moisture.wood_emc->value()) +
                                              " moisture content, fibreboard " +
                                              percent_of(moisture.board_emc->low.value()) + " to " +
                                              percent_of(moisture.board_emc->high.value()) +
                                              ", if left in this air for long; for "
                                              "information only"});
  }
  add_missing(section, moisture.missing);
  return section;
}

}  // namespace logger::app
