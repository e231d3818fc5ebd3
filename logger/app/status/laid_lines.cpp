#include "logger/app/status/laid_lines.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/text/json_document.hpp"
#include "logger/app/text/json_time.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::readiness::OutsideBy;
using analysis::readiness::ServiceAir;
using analysis::readiness::ServiceClimate;
using nlohmann::ordered_json;

namespace {

std::string hours_of(const ServiceAir& air) {
  return std::to_string(std::min(air.rh_hours, air.temperature_hours)) + " of the last " +
         analysis::readiness::text_from_whole_hours(air.over);
}

}  // namespace

std::string service_state(const ServiceAir& air, const ServiceClimate& climate) {
  const OutsideBy by = outside_of(air.rh, air.temperature, climate);
  if (by.any()) {
    return std::string("too ") + (by.dry ? "dry" : by.damp ? "damp" : by.cold ? "cold" : "warm");
  }
  return is_outside(air, climate) ? "in the climate to keep" : "not known";
}

std::string service_sentence(const ServiceAir& air, const ServiceClimate& climate,
                             ShownUnits units) {
  const std::string keep_temperature =
      fixed(shown_celsius(climate.temperature_low.value(), units), 1) + " to " +
      text_of(climate.temperature_high, units);
  const std::string keep_rh =
      fixed(percent_from_rh(climate.rh_low), 1) + " to " + text_of(climate.rh_high);
  const std::string state = service_state(air, climate);
  const std::string readings = "readings in " + hours_of(air);
  if (!air.rh && !air.temperature) {
    return "In service: " + state + ", " + readings + "; keep " + keep_temperature + " and " +
           keep_rh + ".";
  }
  const OutsideBy by = outside_of(air.rh, air.temperature, climate);
  const std::string floor = by.dry    ? ": the floor shrinks, joints may open"
                            : by.damp ? ": the floor swells into its gap"
                                      : "";
  return "In service: mean of " + analysis::readiness::text_from_whole_hours(air.over) + ' ' +
         (air.temperature ? text_of(*air.temperature, units) : "of temperature not known") +
         " (keep " + keep_temperature + "), " + (air.rh ? text_of(*air.rh) : "humidity not known") +
         " (keep " + keep_rh + "); " + state + floor +
         (air.rh && air.temperature ? "" : ", " + readings) + ".";
}

ordered_json json_from_laying(const analysis::certificate::LayingFacts& laying) {
  if (!laying.began_at) {
    return nullptr;
  }
  return {{"began_at_utc", time_json(laying.began_at)},
          {"finished_at_utc", time_json(laying.finished_at)}};
}

ordered_json json_from_service(const std::optional<ServiceAir>& air,
                               const ServiceClimate& climate) {
  if (!air) {
    return nullptr;
  }
  const auto outside = is_outside(*air, climate);
  return {{"state", !outside   ? "unknown"
                    : *outside ? "outside"
                               : "inside"},
          {"text", service_sentence(*air, climate, {})},
          {"mean_over_hours", analysis::base::hours_from(air->over)},
          {"mean_temperature_celsius",
           air->temperature ? ordered_json(air->temperature->value()) : ordered_json(nullptr)},
          {"mean_relative_humidity_percent_rh",
           air->rh ? ordered_json(percent_from_rh(*air->rh)) : ordered_json(nullptr)},
          {"temperature_hours", air->temperature_hours},
          {"relative_humidity_hours", air->rh_hours},
          {"temperature_low_celsius", climate.temperature_low.value()},
          {"temperature_high_celsius", climate.temperature_high.value()},
          {"relative_humidity_low_percent_rh", percent_from_rh(climate.rh_low)},
          {"relative_humidity_high_percent_rh", percent_from_rh(climate.rh_high)}};
}

}  // namespace logger::app
