#include <nlohmann/json.hpp>

#include "logger/app/plan/plan_report.hpp"

namespace logger::app {

using nlohmann::ordered_json;

namespace {

ordered_json rows_json(const analysis::plan::RowLayout& layout) {
  ordered_json rows = ordered_json::array();
  for (const auto& row : layout.rows) {
    ordered_json pieces = ordered_json::array();
    for (const auto& run : row.runs) {
      for (const auto& piece : run) {
        pieces.push_back({{"from_m", piece.low_x_m},
                          {"length_m", piece.length_m()},
                          {"panel", piece.panel},
                          {"whole", piece.whole}});
      }
    }
    rows.push_back({{"width_m", row.high_y_m - row.low_y_m}, {"pieces", pieces}});
  }
  return rows;
}

ordered_json sheet_json(const std::optional<analysis::plan::SheetNeed>& need) {
  if (!need) {
    return nullptr;
  }
  return {{"rolls", need->rolls},
          {"strips", need->strips.size()},
          {"along_panels", need->along_panels},
          {"sheet_m2", need->sheet.value()},
          {"seams_m", need->seams.value()}};
}

ordered_json stacking_json(const analysis::plan::Stacking& stacking) {
  return {{"stacks", stacking.stacks},
          {"cartons_high", stacking.cartons_high},
          {"cartons_wide", stacking.cartons_wide},
          {"on_battens", stacking.on_battens},
          {"warm_up_hours", stacking.warms_up
                                ? ordered_json(analysis::base::hours_from(stacking.warm_up))
                                : ordered_json(nullptr)},
          {"lead_hours", analysis::base::hours_from(stacking.lead)},
          {"covers_m2", stacking.covers.value()},
          {"load_kg_per_m2", stacking.load_kg_per_m2}};
}

ordered_json room_json(const PlannedRoom& planned) {
  const auto& plan = planned.plan;
  ordered_json parts = ordered_json::array();
  for (const auto& part : plan.parts) {
    parts.push_back({{"panels", part.layout.panels}, {"rows", rows_json(part.layout)}});
  }
  ordered_json stackings = ordered_json::array();
  for (const auto& stacking : planned.stackings) {
    stackings.push_back(stacking_json(stacking));
  }
  return {{"id", planned.room->id},
          {"floor_area_m2", plan.floor_area.value()},
          {"panels", plan.panels},
          {"cartons", planned.cartons},
          {"remarks", plan.remarks},
          {"parts", parts},
          {"underlay", sheet_json(plan.underlay)},
          {"barrier", sheet_json(plan.barrier)},
          {"trim",
           {{"wall_m", plan.trim.wall.value()},
            {"bars", plan.trim.wall_lengths},
            {"spacers", plan.trim.spacers},
            {"between_equal_floors_m", plan.trim.t_moulding.value()},
            {"to_lower_floor_m", plan.trim.reducer.value()},
            {"to_edge_m", plan.trim.edge.value()},
            {"between_parts_m", plan.joints.value()}}},
          {"stackings", stackings},
          {"no_stacking_because", planned.no_stacking_because}};
}

}  // namespace

std::string json_from_plan(const PlanReport& report) {
  ordered_json rooms = ordered_json::array();
  for (const PlannedRoom& planned : report.rooms) {
    rooms.push_back(room_json(planned));
  }
  ordered_json orders = ordered_json::array();
  for (const Order& order : report.orders) {
    orders.push_back({{"product", order.product},
                      {"rooms", order.rooms},
                      {"floor_m2", order.need.floor.value()},
                      {"pack_coverage_m2", order.pack.coverage.value()},
                      {"panels_in_pack", order.pack.panels},
                      {"waste_rule_fraction", order.need.waste_rule_fraction},
                      {"cartons_by_rule", order.need.cartons_by_rule},
                      {"panels_by_layout", order.need.panels_by_layout},
                      {"waste_by_layout_fraction", order.need.waste_by_layout_fraction},
                      {"cartons_by_layout", order.need.cartons_by_layout},
                      {"cartons_delivered", order.need.delivered},
                      {"cartons_to_order", order.need.cartons_to_order}});
  }
  const ordered_json tree = {{"format", "dwellog-plan/1"},
                             {"job", report.job_name},
                             {"rooms", rooms},
                             {"rooms_without_plan", report.rooms_without_plan},
                             {"orders", orders}};
  return tree.dump(2, ' ', false, ordered_json::error_handler_t::replace) + "\n";
}

}  // namespace logger::app
