#include <nlohmann/json.hpp>

#include "analysis/readiness/uncertainty/conformance.hpp"
#include "logger/app/outlook/outlook_report.hpp"
#include "logger/app/outlook/texts/section_texts.hpp"
#include "logger/app/text/json_document.hpp"
#include "logger/app/text/json_time.hpp"

namespace logger::app {

using analysis::base::Celsius;
using analysis::base::RelativeHumidity;
using analysis::readiness::CrossingDate;
using analysis::readiness::kCoverageFactor;
using analysis::readiness::room::AiringEffect;
using analysis::readiness::room::DecidingPart;
using analysis::readiness::room::ExpectedTime;
using analysis::readiness::room::NoTime;
using analysis::readiness::room::StepKind;
using analysis::readiness::room::WaterDirection;
using nlohmann::ordered_json;

namespace {

template <class Value>
ordered_json number(const std::optional<Value>& value) {
  return or_null(value, [](Value each) { return each.value(); });
}
ordered_json percent(const std::optional<RelativeHumidity>& rh) {
  return or_null(rh, [](RelativeHumidity each) { return percent_from_rh(each); });
}
ordered_json hours(const std::optional<Micros>& time) {
  return or_null(time, analysis::base::hours_from);
}

const char* name_of_reason(NoTime reason) {
  switch (reason) {
    case NoTime::no_data:
      return "no_data";
    case NoTime::gap:
      return "gap";
    case NoTime::flat:
      return "flat";
    case NoTime::away:
      return "away";
    case NoTime::too_far_off:
      return "too_far_off";
    case NoTime::not_modelled:
      return "not_modelled";
    case NoTime::room_too_cold:
      return "room_too_cold";
    case NoTime::core_disagrees:
      return "core_disagrees";
  }
  return "";
}

ordered_json expected_json(const ExpectedTime& time) {
  return {{"not_before_utc", time_json(time.early)},
          {"likely_utc", time_json(time.likely)},
          {"late_utc", time_json(time.late)}};
}
ordered_json expected_json(const analysis::readiness::room::TimeOrReason& time) {
  return time ? expected_json(time.value())
              : ordered_json{{"no_time", name_of_reason(time.error())}};
}

ordered_json when_json(const WhenOutlook& when) {
  ordered_json dwell = when.dwell ? expected_json(when.dwell.value().at)
                                  : ordered_json{{"no_time", name_of_reason(when.dwell.error())}};
  ordered_json open = ordered_json::array();
  for (const auto& gate : when.open_otherwise) {
    open.push_back({{"id", gate.id}, {"state", name_of(gate.state)}});
  }
  return {{"delivery_noted_for_utc", time_json(when.delivery_ahead)},
          {"dwell", dwell},
          {"core", when.core ? expected_json(*when.core) : ordered_json(nullptr)},
          {"dwell_and_core", expected_json(when.ready.at)},
          {"decided_by", when.ready.decided_by == DecidingPart::dwell ? "dwell" : "core"},
          {"in_any_case_not_before_utc", time_json(when.not_before)},
          {"open_by_hand", when.open_by_hand},
          {"open_otherwise", open},
          {"missing", when.missing}};
}

ordered_json heat_json(const HeatOutlook& heat) {
  ordered_json core = nullptr;
  if (heat.core) {
    core = {{"at_utc", time_json(heat.core->at)},
            {"measured", heat.core->measured},
            {"fast_celsius", heat.core->fast.temperature.value()},
            {"usual_celsius", heat.core->mid.temperature.value()},
            {"slow_celsius", heat.core->slow.temperature.value()},
            {"fast_warm_since_utc", time_json(heat.core->fast.warm_at)},
            {"slow_warm_since_utc", time_json(heat.core->slow.warm_at)},
            {"unknown_air_hours", hours(heat.core->unknown_air_felt)}};
  }
  ordered_json to_warm = nullptr;
  if (heat.to_warm) {
    to_warm = {{"fast_hours", hours(heat.to_warm->fast)},
               {"usual_hours", hours(heat.to_warm->mid)},
               {"slow_hours", hours(heat.to_warm->slow)}};
  }
  return {{"delivered_celsius", number(heat.delivered)},
          {"core", core},
          {"to_warm", to_warm},
          {"no_time", heat.no_time ? ordered_json(name_of_reason(*heat.no_time)) : nullptr},
          {"probe_celsius", heat.probe ? ordered_json(heat.probe->value) : ordered_json(nullptr)},
          {"probe_at_utc", heat.probe ? time_json(heat.probe->at) : ordered_json(nullptr)},
          {"air_celsius", number(heat.air)},
          {"stacking_advice", heat.advice},
          {"planned_stacking_too_slow", heat.advises_stacking},
          {"missing", heat.missing}};
}

ordered_json moisture_json(const MoistureOutlook& moisture) {
  ordered_json cartons = nullptr;
  if (moisture.cartons) {
    const auto& c = *moisture.cartons;
    cartons = {{"wrap", wrap_text(moisture.wrap)},
               {"wrap_assumed", moisture.wrap_assumed},
               {"carton_size_assumed", moisture.carton_size_assumed},
               {"taken_up_low_fraction", c.taken_up.low.value()},
               {"taken_up_high_fraction", c.taken_up.high.value()},
               {"bare_edges_low_fraction", c.bare_edges.low.value()},
               {"bare_edges_high_fraction", c.bare_edges.high.value()},
               {"rim_low_mm", 1000.0 * c.shallowest_rim.value()},
               {"rim_high_mm", 1000.0 * c.deepest_rim.value()},
               {"to_90_percent_low_hours", hours(c.shortest_to_90_percent)},
               {"to_90_percent_high_hours", hours(c.longest_to_90_percent)}};
  }
  ordered_json board = nullptr;
  if (moisture.board_emc) {
    board = {{"low_kg_per_kg", moisture.board_emc->low.value()},
             {"high_kg_per_kg", moisture.board_emc->high.value()}};
  }
  return {{"in_cartons_hours", hours(moisture.in_cartons)},
          {"cartons", cartons},
          {"wood_emc_kg_per_kg", number(moisture.wood_emc)},
          {"board_emc", board},
          {"missing", moisture.missing}};
}

ordered_json crossing_json(const CrossingDate& date) {
  return {{"kind", date.kind == CrossingDate::Kind::already_below ? "already_below"
                   : date.kind == CrossingDate::Kind::dated       ? "dated"
                                                                  : "beyond_horizon"},
          {"at_utc",
           date.kind == CrossingDate::Kind::dated ? time_json(date.at) : ordered_json(nullptr)}};
}

ordered_json forecast_json(const SlabProbeOutlook& probe) {
  if (!probe.forecast) {
    return nullptr;
  }
  if (!*probe.forecast) {
    return {{"refused", text_of(probe.forecast->error())},
            {"refusal_number", static_cast<int>(probe.forecast->error().reason)},
            {"needed_days", probe.forecast->error().days_needed}};
  }
  const auto& forecast = probe.forecast->value();
  return {{"chance_10_percent", crossing_json(forecast.early)},
          {"chance_50_percent", crossing_json(forecast.median)},
          {"chance_90_percent", crossing_json(forecast.late)},
          {"beyond_horizon_fraction", forecast.probability_beyond_horizon},
          {"residual_percent_rh", percent(forecast.residual)},
          {"half_day_means", forecast.readings_used},
          {"default_probe_uncertainty", probe.default_uncertainty},
          {"replaces_the_test", false}};
}

ordered_json slab_json(const SlabOutlook& slab) {
  ordered_json probes = ordered_json::array();
  for (const SlabProbeOutlook& probe : slab.probes) {
    ordered_json course = ordered_json::array();
    for (const auto& slot : probe.course) {
      course.push_back({{"at_utc", time_json(slot.at)}, {"mean_percent_rh", 100.0 * slot.mean}});
    }
    probes.push_back({{"channel", probe.channel_id},
                      {"placed_at_utc", time_json(probe.placed_at)},
                      {"settled_at_utc", time_json(probe.settled_at)},
                      {"mean_percent_rh", percent(probe.mean)},
                      {"expanded_uncertainty_percent_rh", percent(probe.expanded_uncertainty)},
                      {"forecast", forecast_json(probe)},
                      {"older_readings_left_out", probe.course_cut},
                      {"half_day_means", course}});
  }
  const auto millimetres = [](const std::optional<analysis::base::Metres>& length) {
    return length ? ordered_json(1000.0 * length->value()) : ordered_json(nullptr);
  };
  return {{"limit_percent_rh", percent(slab.limit)},
          {"forecast_limit_percent_rh", percent(slab.forecast_limit)},
          {"horizon_years", slab.horizon_years},
          {"standard_depth_mm", millimetres(slab.standard_depth)},
          {"probe_depth_mm", millimetres(slab.probe_depth)},
          {"places_required",
           slab.places_required ? ordered_json(*slab.places_required) : ordered_json(nullptr)},
          {"air_mean_percent_rh", percent(slab.air_rh)},
          {"air_mean_recorded_days", slab.air_days},
          {"probes", probes},
          {"tests", slab.tests},
          {"missing", slab.missing}};
}

ordered_json wood_subfloor_json(const std::optional<WoodSubfloorOutlook>& wood) {
  return wood ? ordered_json{{"tests", wood->tests}, {"missing", wood->missing}}
              : ordered_json(nullptr);
}

const char* name_of_step(StepKind kind) {
  switch (kind) {
    case StepKind::keep:
      return "keep";
    case StepKind::heat:
      return "heat";
    case StepKind::cool:
      return "cool";
    case StepKind::humidify:
      return "humidify";
    case StepKind::dry:
      return "dry";
    case StepKind::ventilate:
      return "ventilate";
  }
  return "";
}
const char* name_of_direction(WaterDirection direction) {
  return direction == WaterDirection::add      ? "add"
         : direction == WaterDirection::remove ? "remove"
                                               : "none";
}

ordered_json water_json(const AirOutlook& air) {
  if (!air.water) {
    return nullptr;
  }
  const auto& once = air.water->once;
  ordered_json tree = {{"once_direction", name_of_direction(once.direction)},
                       {"once_air_alone_kg", once.air_alone.value()},
                       {"once_with_materials_low_kg", once.with_materials_low.value()},
                       {"once_with_materials_high_kg", once.with_materials_high.value()},
                       {"steady", nullptr},
                       {"air_pressure_pa", number(air.pressure)},
                       {"sea_level_assumed", air.sea_level_assumed},
                       {"air_changes_assumed", air.air_changes_assumed}};
  if (const auto& steady = air.water->steady) {
    tree["steady"] = {{"direction", name_of_direction(steady->direction)},
                      {"low_kg_per_day", steady->low.value()},
                      {"high_kg_per_day", steady->high.value()}};
  }
  return tree;
}

ordered_json air_json(const AirOutlook& air) {
  ordered_json tree = {{"air_celsius", number(air.known.temperature)},
                       {"air_percent_rh", percent(air.known.rh)},
                       {"in_band", nullptr},
                       {"by_temperature_alone", nullptr},
                       {"steps", ordered_json::array()},
                       {"for_slab", air.for_slab},
                       {"outdoors", nullptr},
                       {"water", water_json(air)},
                       {"missing", air.missing}};
  if (const auto& outdoors = air.known.outdoors) {
    tree["outdoors"] = {{"air_celsius", outdoors->temperature.value()},
                        {"air_percent_rh", percent(outdoors->rh)}};
  }
  if (!air.advice) {
    return tree;
  }
  const auto& advice = *air.advice;
  if (advice.in_band) {
    tree["in_band"] = *advice.in_band;
  }
  if (advice.by_temperature_alone && *advice.by_temperature_alone) {
    tree["by_temperature_alone"] = {
        {"low_celsius", advice.by_temperature_alone->value().low.value()},
        {"high_celsius", advice.by_temperature_alone->value().high.value()},
        {"too_narrow_to_hold",
         advice.by_temperature_alone->value().high - advice.by_temperature_alone->value().low <
             analysis::readiness::room::kNarrowestWindow}};
  }
  for (const auto& step : advice.steps) {
    tree["steps"].push_back({{"do", name_of_step(step.kind)},
                             {"to_celsius", step.temperature.value()},
                             {"to_percent_rh", percent(step.rh)}});
  }
  if (advice.airing && air.known.outdoors) {
    tree["outdoors"]["in_room_percent_rh"] = percent(advice.airing->rh_in_room);
    tree["outdoors"]["airing"] = advice.airing->effect == AiringEffect::dries  ? "dries"
                                 : advice.airing->effect == AiringEffect::wets ? "wets"
                                                                               : "neither";
  }
  return tree;
}

ordered_json case_json(const std::optional<MovementCase>& one) {
  if (!one) {
    return nullptr;
  }
  return {{"coefficient_per_rh_fraction", one->coefficient.value()},
          {"gap_needed_mm", 1000.0 * one->gap.movement.gap_each_side.value()},
          {"shrinkage_mm", 1000.0 * one->gap.movement.shrinkage.value()},
          {"fits", one->gap.fits},
          {"short_by_mm", 1000.0 * one->gap.short_by.value()},
          {"widest_run_m", number(one->gap.widest_run)},
          {"joint_every_m", number(one->gap.joint_every)}};
}

ordered_json movement_json(const MovementOutlook& movement) {
  ordered_json logged = nullptr;
  if (movement.logged) {
    logged = {{"lowest_day_percent_rh", percent(movement.logged->lowest_day)},
              {"highest_day_percent_rh", percent(movement.logged->highest_day)},
              {"days", movement.logged->days},
              {"change_mm", 1000.0 * movement.logged->change.value()},
              {"typical_change_mm", 1000.0 * movement.logged->typical_change.value()}};
  }
  return {{"at_laying_percent_rh", percent(movement.at_laying)},
          {"stated", case_json(movement.stated)},
          {"typical", case_json(movement.typical)},
          {"logged", logged},
          {"missing", movement.missing}};
}

ordered_json uncertainty_json(const UncertaintyOutlook& uncertainty) {
  ordered_json channels = ordered_json::array();
  for (const ChannelUncertainty& channel : uncertainty.channels) {
    const std::string unit(file_unit_of(channel.role));
    const auto expanded = [](double standard) { return kCoverageFactor * standard; };
    channels.push_back({{"id", channel.channel_id},
                        {"expanded_uncertainty_" + unit, expanded(channel.parts.combined())},
                        {"accuracy_" + unit, expanded(channel.parts.accuracy)},
                        {"drift_" + unit, expanded(channel.parts.drift)},
                        {"placement_" + unit, expanded(channel.parts.placement)},
                        {"resolution_" + unit, expanded(channel.parts.resolution)}});
  }
  ordered_json guards = ordered_json::array();
  for (const GuardLine& guard : uncertainty.guards) {
    guards.push_back(
        {{"limit", guard.limit}, {"guard_" + guard.unit, guard.guard}, {"added", guard.added}});
  }
  return {{"rule", name_of(uncertainty.rule)},
          {"rule_source", uncertainty.rule_source},
          {"coverage_factor", kCoverageFactor},
          {"channels", channels},
          {"guards", guards},
          {"wrong_ready_fraction", uncertainty.wrong_ready_probability
                                       ? ordered_json(*uncertainty.wrong_ready_probability)
                                       : ordered_json(nullptr)},
          {"accuracy_unknown", uncertainty.unknown_channels}};
}

}  // namespace

std::string json_from_outlook(const OutlookReport& report) {
  ordered_json rooms = ordered_json::array();
  for (const RoomOutlook& room : report.rooms) {
    const bool ahead = room.when.delivery_ahead.has_value();
    rooms.push_back(
        {{"id", room.room_id},
         {"name", room.room_name},
         {"verdict", name_of(room.assessment.verdict)},
         {"when", when_json(room.when)},
         {"carton_heat", ahead ? ordered_json(nullptr) : heat_json(room.heat)},
         {"carton_moisture", ahead ? ordered_json(nullptr) : moisture_json(room.moisture)},
         {"slab", room.slab ? slab_json(*room.slab) : ordered_json(nullptr)},
         {"wood_subfloor", wood_subfloor_json(room.wood_subfloor)},
         {"room_air", air_json(room.air)},
         {"movement", movement_json(room.movement)},
         {"uncertainty", uncertainty_json(room.uncertainty)},
         {"cautions", room.cautions}});
  }
  const ordered_json tree = {{"simulated", report.simulated},
                             {"format", "dwellog-outlook/1"},
                             {"job", report.job_name},
                             {"at_utc", time_json(report.now)},
                             {"rooms", rooms}};
  return text_from_document(tree);
}

}  // namespace logger::app
