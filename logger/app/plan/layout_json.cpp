#include "logger/app/plan/layout_json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "analysis/plan/layout/cut_list.hpp"

namespace logger::app {

using analysis::plan::CutPiece;
using analysis::plan::NotchSide;
using analysis::plan::PieceOrigin;
using analysis::plan::PiecePlace;
using analysis::plan::PieceShape;
using analysis::plan::RowRule;
using nlohmann::ordered_json;

double rounded_json(double value) { return std::round(value * 1e6) / 1e6; }

namespace {

double metres(double value) { return rounded_json(value); }
double metres(analysis::base::Metres value) { return metres(value.value()); }

const char* name_of(PieceOrigin origin) {
  return origin == PieceOrigin::whole_panel ? "whole_panel"
         : origin == PieceOrigin::new_panel ? "new_panel"
                                            : "rest";
}
const char* name_of(PiecePlace place) {
  return place == PiecePlace::begins   ? "begins_row"
         : place == PiecePlace::inside ? "inside"
         : place == PiecePlace::ends   ? "ends_row"
                                       : "between_walls";
}
const char* name_of(RowRule rule) {
  return rule == RowRule::end_joints     ? "end_joints"
         : rule == RowRule::piece_length ? "piece_length"
                                         : "row_width";
}

const char* name_of(NotchSide side) {
  return side == NotchSide::row_before ? "row_before"
         : side == NotchSide::next_row ? "next_row"
                                       : "inside";
}

ordered_json notches_json(const PieceShape& shape) {
  ordered_json notches = ordered_json::array();
  for (const auto& notch : shape.notches) {
    notches.push_back({{"side", name_of(notch.side)},
                       {"from_m", metres(notch.from)},
                       {"to_m", metres(notch.to)},
                       {"from_near_edge_m", metres(notch.low)},
                       {"to_near_edge_m", metres(notch.high)}});
  }
  return notches;
}

// Of the piece's width, and what walls take of it.
void add_shape(ordered_json& piece, const PieceShape& shape,
               const analysis::plan::PanelSize& panel) {
  const bool full = shape.width.value() > panel.width.value() - analysis::plan::kSameLength;
  piece["rip_to_m"] = full ? ordered_json(nullptr) : ordered_json(metres(shape.width));
  piece["ripped_by_wall"] = {{"row_before_m", metres(shape.off_at_before)},
                             {"next_row_m", metres(shape.off_at_next)}};
  piece["notches"] = notches_json(shape);
  piece["slanted"] = shape.slanted
                         ? ordered_json({{"along_row_before_m", metres(shape.along_before)},
                                         {"along_next_row_m", metres(shape.along_next)}})
                         : ordered_json(nullptr);
}

// `left_m`: where the part begins along its rows.
ordered_json piece_json(const analysis::plan::Piece& laid, const CutPiece& cut, double left_m) {
  ordered_json piece = {{"from_m", metres(laid.low_x_m - left_m)},
                        {"length_m", metres(laid.length_m())},
                        {"panel", laid.panel},
                        {"whole", laid.whole},
                        {"cut_from", name_of(cut.origin)},
                        {"place", name_of(cut.place)}};
  if (!laid.whole) {
    piece["rest_m"] = metres(cut.rest.length);
    piece["rest_goes_to_row"] =
        cut.rest.is_waste() ? ordered_json(nullptr) : ordered_json(cut.rest.row);
    piece["rest_place"] = cut.rest.is_waste() ? "waste" : name_of(cut.rest.place);
  }
  return piece;
}

ordered_json rows_json(const analysis::plan::FloorPart& part, const PlannedRoom& planned) {
  const auto& request = planned.room->plan->request;
  const auto cuts = analysis::plan::cut_list_from(
      part.layout, {planned.plan.floor, request.panel, request.rules});
  ordered_json rows = ordered_json::array();
  for (std::size_t i = 0; i < cuts.size(); ++i) {
    const auto& row = part.layout.rows[i];
    ordered_json pieces = ordered_json::array();
    for (std::size_t run = 0; run < row.runs.size(); ++run) {
      for (std::size_t k = 0; k < row.runs[run].size(); ++k) {
        const CutPiece& cut = cuts[i].runs[run][k];
        ordered_json piece = piece_json(row.runs[run][k], cut, part.field.low_x_m);
        add_shape(piece, cut.shape, request.panel);
        pieces.push_back(std::move(piece));
      }
    }
    rows.push_back({{"from_m", metres(row.low_y_m - part.field.low_y_m)},
                    {"width_m", metres(row.high_y_m - row.low_y_m)},
                    {"pieces", pieces}});
  }
  return rows;
}

}  // namespace

ordered_json point_json(analysis::plan::PlanPoint turned_point,
                        const analysis::plan::RoomPlan& plan) {
  const auto point = analysis::plan::turned(turned_point, -plan.turned_degrees);
  return {{"x_m", metres(point.x_m)}, {"y_m", metres(point.y_m)}};
}

ordered_json part_json(const analysis::plan::FloorPart& part, const PlannedRoom& planned) {
  ordered_json broken = ordered_json::array();
  for (const auto& each : part.layout.breaks) {
    broken.push_back({{"row", each.row},
                      {"rule", name_of(each.rule)},
                      {"from_side_m", metres(each.from_side)},
                      {"value_m", metres(each.value)},
                      {"limit_m", metres(each.limit)}});
  }
  return {{"panels", part.layout.panels},
          {"least_panels", part.layout.least_panels},
          {"begins_at", point_json({part.field.low_x_m, part.field.low_y_m}, planned.plan)},
          {"rows", rows_json(part, planned)},
          {"rules_broken", broken}};
}

ordered_json gaps_json(const analysis::plan::RoomPlan& plan) {
  ordered_json gaps = ordered_json::array();
  for (const auto& check : plan.gaps) {
    gaps.push_back({{"run_m", metres(check.run)},
                    {"across_rows", check.across_rows},
                    {"left_m", metres(check.left)},
                    {"needed_at_limit_m", metres(check.at_limit.movement.gap_each_side)},
                    {"needed_at_typical_m", metres(check.at_typical.movement.gap_each_side)},
                    {"fits_at_limit", check.at_limit.fits},
                    {"fits_at_typical", check.at_typical.fits}});
  }
  return gaps;
}

ordered_json pipes_json(const analysis::plan::RoomPlan& plan) {
  ordered_json pipes = ordered_json::array();
  for (const auto& hole : plan.pipes) {
    pipes.push_back({{"name", hole.name},
                     {"hole_m", metres(hole.diameter)},
                     {"row", hole.row},
                     {"panel", hole.panel},
                     {"from_piece_end_m", metres(hole.from_end)},
                     {"from_row_edge_m", metres(hole.from_edge)}});
  }
  return pipes;
}

}  // namespace logger::app
