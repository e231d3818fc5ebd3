#include <cmath>
#include <nlohmann/json.hpp>

#include "logger/app/plan/layout_json.hpp"
#include "logger/app/plan/plan_report.hpp"
#include "logger/app/plan/plan_words.hpp"
#include "logger/app/text/json_document.hpp"
#include "logger/app/text/json_time.hpp"

namespace logger::app {

using nlohmann::ordered_json;

namespace {

ordered_json sheet_json(const std::optional<analysis::plan::SheetNeed>& need) {
  if (!need) {
    return nullptr;
  }
  return {{"rolls", need->rolls},
          {"strips", need->strips.size()},
          {"along_panels", need->lay == analysis::plan::SheetLay::along_panels},
          {"along_walls", need->lay == analysis::plan::SheetLay::along_walls},
          {"sheet_m2", rounded_json(need->sheet.value())},
          {"seams_m", rounded_json(need->seams.value())}};
}

ordered_json stacking_json(const analysis::plan::Stacking& stacking) {
  return {
      {"stacks", stacking.stacks},
      {"cartons_high", stacking.cartons_high},
      {"cartons_wide", stacking.cartons_wide},
      {"on_battens", stacking.on_battens},
      {"warm_up_hours",
       stacking.warms_up ? ordered_json(rounded_json(analysis::base::hours_from(stacking.warm_up)))
                         : ordered_json(nullptr)},
      {"lead_hours", rounded_json(analysis::base::hours_from(stacking.lead))},
      {"covers_m2", rounded_json(stacking.covers.value())},
      {"load_kg_per_m2", rounded_json(stacking.load_kg_per_m2)}};
}

ordered_json places_json(const PlannedRoom& planned) {
  ordered_json stacks = ordered_json::array();
  for (const auto& stack : planned.places) {
    const auto& box = stack.place;
    ordered_json corners = ordered_json::array();
    for (const analysis::plan::PlanPoint corner :
         {analysis::plan::PlanPoint{box.low_x_m, box.low_y_m},
          {box.high_x_m, box.low_y_m},
          {box.high_x_m, box.high_y_m},
          {box.low_x_m, box.high_y_m}}) {
      corners.push_back(point_json(corner, planned.plan));
    }
    stacks.push_back({{"cartons", stack.cartons}, {"corners", corners}});
  }
  return stacks;
}

// In which direction the rows go from left to right, anticlockwise from x, 0 to below 360.
double rows_degrees_of(const analysis::plan::RoomPlan& plan) {
  const double degrees = std::fmod(-plan.turned_degrees, 360.0);
  return degrees < 0.0 ? degrees + 360.0 : degrees + 0.0;
}

ordered_json doors_elsewhere_json(const PlannedRoom& planned) {
  ordered_json doors = ordered_json::array();
  for (const auto& door : planned.doors_elsewhere) {
    doors.push_back({{"with_room", door.with}, {"width_m", rounded_json(door.width.value())}});
  }
  return doors;
}

ordered_json room_json(const PlannedRoom& planned) {
  const auto& plan = planned.plan;
  ordered_json remarks = ordered_json::array();
  for (const auto& remark : plan.remarks) {
    remarks.push_back(remark.metric);
  }
  ordered_json parts = ordered_json::array();
  for (const auto& part : plan.parts) {
    parts.push_back(part_json(part, planned));
  }
  ordered_json stackings = ordered_json::array();
  for (const auto& stacking : planned.stackings) {
    stackings.push_back(stacking_json(stacking));
  }
  return {
      {"id", planned.room->id},
      {"floor_area_m2", rounded_json(plan.floor_area.value())},
      {"panels", plan.panels},
      {"least_panels", plan.least_panels},
      {"waste_over_floor_fraction", rounded_json(panel_waste_fraction(planned))},
      {"cartons", planned.cartons},
      {"remarks", remarks},
      {"first_row", plan.first_row},
      {"rows_degrees", rounded_json(rows_degrees_of(plan))},
      {"parts", parts},
      {"gaps", gaps_json(plan)},
      {"pipes", pipes_json(plan)},
      {"underlay", sheet_json(plan.underlay)},
      {"barrier", sheet_json(plan.barrier)},
      {"trim",
       {{"wall_m", rounded_json(plan.trim.wall.value())},
        {"bars", plan.trim.wall_lengths},
        {"spacers", plan.trim.spacers},
        {"between_equal_floors_m", rounded_json(plan.trim.t_moulding.value())},
        {"to_lower_floor_m", rounded_json(plan.trim.reducer.value())},
        {"to_edge_m", rounded_json(plan.trim.edge.value())},
        {"between_parts_m", rounded_json(plan.joints.value())},
        {"counted_with_other_rooms", doors_elsewhere_json(planned)}}},
      {"stackings", stackings},
      {"stack_places", places_json(planned)},
      {"laying_on", time_json(planned.room->plan->laying_on)},
      {"deliver_by", time_json(planned.deliver_by)},
      {"no_stacking_because", planned.no_stacking_because},
      {"slab_tests", planned.slab_tests ? json_from(*planned.slab_tests) : ordered_json(nullptr)}};
}

ordered_json order_json(const analysis::plan::OrderList& order) {
  ordered_json lines = ordered_json::array();
  for (const auto& line : order.lines) {
    lines.push_back({{"item", line.item},
                     {"quantity", line.quantity},
                     {"unit", line.unit},
                     {"reckoning", line.reckoning},
                     {"unit_price", or_null(line.unit_price)},
                     {"price", or_null(line.price())}});
  }
  if (order.currency.empty()) {
    return {{"lines", lines}, {"currency", nullptr}, {"total", nullptr}};
  }
  return {{"lines", lines},
          {"currency", order.currency},
          {"total", order.total},
          {"without_price", order.without_price}};
}

}  // namespace

std::string json_from_plan(const PlanReport& report) {
  ordered_json rooms = ordered_json::array();
  for (const PlannedRoom& planned : report.rooms) {
    rooms.push_back(room_json(planned));
  }
  const ordered_json tree = {{"format", "dwellog-plan/1"},
                             {"job", report.job_name},
                             {"rooms", rooms},
                             {"worth_a_look", report.worth_a_look},
                             {"rooms_without_plan", report.rooms_without_plan},
                             {"order", order_json(order_from_plan(report, false))}};
  return text_from_document(tree);
}

}  // namespace logger::app
