#include "logger/app/plan/layout_json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "analysis/plan/layout/cut_list.hpp"

namespace logger::app {

using analysis::plan::CutPiece;
using analysis::plan::PieceOrigin;
using analysis::plan::PiecePlace;
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

ordered_json piece_json(const analysis::plan::Piece& laid, const CutPiece& cut) {
  ordered_json piece = {{"from_m", metres(laid.low_x_m)},
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

ordered_json rows_json(const analysis::plan::RowLayout& layout, const JobPlan& plan) {
  const auto cuts = analysis::plan::cut_list_from(layout, plan.request.panel, plan.request.rules);
  ordered_json rows = ordered_json::array();
  for (std::size_t i = 0; i < layout.rows.size(); ++i) {
    const auto& row = layout.rows[i];
    ordered_json pieces = ordered_json::array();
    for (std::size_t run = 0; run < row.runs.size(); ++run) {
      for (std::size_t k = 0; k < row.runs[run].size(); ++k) {
        pieces.push_back(piece_json(row.runs[run][k], cuts[i].runs[run][k]));
      }
    }
    rows.push_back({{"width_m", metres(row.high_y_m - row.low_y_m)}, {"pieces", pieces}});
  }
  return rows;
}

}  // namespace

ordered_json part_json(const analysis::plan::FloorPart& part, const JobPlan& plan) {
  ordered_json broken = ordered_json::array();
  for (const auto& each : part.layout.breaks) {
    broken.push_back({{"row", each.row},
                      {"rule", name_of(each.rule)},
                      {"from_side_m", metres(each.from_side)},
                      {"value_m", metres(each.value)},
                      {"limit_m", metres(each.limit)}});
  }
  return {{"panels", part.layout.panels},
          {"rows", rows_json(part.layout, plan)},
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
