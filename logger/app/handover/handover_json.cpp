#include <nlohmann/json.hpp>

#include "logger/app/handover/handover_report.hpp"
#include "logger/app/handover/laid_content.hpp"
#include "logger/app/text/json_document.hpp"
#include "logger/app/text/json_time.hpp"

namespace logger::app {

using analysis::base::percent_from_rh;
using analysis::readiness::MovementPair;
using analysis::readiness::ServiceDay;
using analysis::readiness::ServiceMovement;
using analysis::readiness::ServiceReport;
using analysis::readiness::Spell;
using analysis::readiness::Spells;
using nlohmann::ordered_json;

namespace {

double metres_of(analysis::base::Metres length) { return length.value(); }

ordered_json spell_json(const Spell& spell) {
  return {{"from_utc", time_json(spell.range.from)},
          {"to_utc", time_json(spell.range.to)},
          {"mean_percent_rh", percent_from_rh(spell.mean)},
          {"days_recorded", spell.recorded}};
}
ordered_json spells_json(const Spells& spells) {
  return {{"driest", spell_json(spells.driest)}, {"dampest", spell_json(spells.dampest)}};
}

ordered_json case_json(const ServiceMovement& moved) {
  return {{"growth_per_rh_m_per_m", moved.coefficient.value()},
          {"growth_each_side_m", moved.growth_each_side.value()},
          {"shrinkage_m", moved.shrinkage.value()},
          {"shrinkage_of_panel_m", or_null(moved.shrinkage_of_panel, metres_of)},
          {"gap_closed", or_null(moved.gap_closed)}};
}
ordered_json pair_json(const MovementPair& pair) {
  return {{"stated", case_json(pair.stated)}, {"typical", case_json(pair.typical)}};
}

ordered_json day_json(const ServiceDay& day) {
  return {{"from_utc", time_json(day.from)},
          {"mean_percent_rh", percent_from_rh(day.mean)},
          {"low_percent_rh", percent_from_rh(day.low)},
          {"high_percent_rh", percent_from_rh(day.high)},
          {"mean_celsius", or_null(day.temperature, [](auto value) { return value.value(); })}};
}

ordered_json service_json(const ServiceReport& report) {
  ordered_json days = ordered_json::array();
  for (const ServiceDay& day : report.days) {
    days.push_back(day_json(day));
  }
  const auto& outside = report.outside;
  return {{"days_elapsed", report.days_elapsed},
          {"days_recorded", report.days.size()},
          {"days_outside",
           {{"any", outside.any},
            {"too_dry", outside.too_dry},
            {"too_damp", outside.too_damp},
            {"too_cold", outside.too_cold},
            {"too_warm", outside.too_warm}}},
          {"spells_14_days", or_null(report.spells, spells_json)},
          {"spells_1_day", or_null(report.single, spells_json)},
          {"movement_14_days", or_null(report.moved, pair_json)},
          {"movement_1_day", or_null(report.moved_at_once, pair_json)},
          {"days", std::move(days)}};
}

ordered_json moving_json(const MovingFloor& moving) {
  const auto& floor = moving.floor;
  return {{"run_m", floor.run.width.value()},
          {"run_source", moving.run_source},
          {"pinned_one_side", floor.run.hold == analysis::physics::FloorHold::pinned_one_side},
          {"growth_per_rh_m_per_m", floor.run.coefficient.value()},
          {"growth_source", moving.growth_source},
          {"gap_m", or_null(floor.gap, metres_of)},
          {"gap_source", moving.gap_source},
          {"panel_m", or_null(floor.panel, metres_of)},
          {"at_laying_percent_rh", percent_from_rh(floor.at_laying)},
          {"at_laying_is_mean_of_dwell", moving.laid_at_dwell_mean},
          {"dwell_days_recorded", moving.dwell_days}};
}

ordered_json laid_json(const RoomHandover& room) {
  nlohmann::json noted = nlohmann::json::object();
  add_laid_floor(noted, room.laying.laid);
  return {{"began_utc", time_json(room.laying.began_at)},
          {"finished_utc", time_json(room.laying.finished_at)},
          {"by", room.laid_by},
          {"remark", room.laid_remark},
          {"noted", noted},
          {"findings", findings_of(room, false)}};
}

ordered_json room_json(const RoomHandover& room) {
  ordered_json missing = ordered_json::array();
  for (const HandoverLack& lack : room.missing) {
    missing.push_back(lack.what + " To mend it: " + lack.mend + ".");
  }
  const auto& climate = room.climate;
  return {{"id", room.room_id},
          {"name", room.room_name},
          {"floor_area_m2", room.floor_area_m2},
          {"floor_product", room.floor_product},
          {"laying", laid_json(room)},
          {"service_climate",
           {{"temperature_low_celsius", climate.temperature_low.value()},
            {"temperature_high_celsius", climate.temperature_high.value()},
            {"rh_low_percent_rh", percent_from_rh(climate.rh_low)},
            {"rh_high_percent_rh", percent_from_rh(climate.rh_high)},
            {"source", climate.source}}},
          {"movement", or_null(room.moving, moving_json)},
          {"service", or_null(room.service, service_json)},
          {"missing", std::move(missing)}};
}

}  // namespace

std::string json_from_handover(const HandoverReport& report) {
  ordered_json rooms = ordered_json::array();
  for (const RoomHandover& room : report.rooms) {
    rooms.push_back(room_json(room));
  }
  const ordered_json document{{"format", "dwellog-handover/1"},
                              {"job", report.job_name},
                              {"simulated", report.simulated},
                              {"at_utc", time_json(report.now)},
                              {"rooms", std::move(rooms)}};
  return text_from_document(document);
}

}  // namespace logger::app
