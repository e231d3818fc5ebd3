// A run of panels from wall to wall: its pieces and its end joints. Pure.
#pragma once

#include <cstddef>

#include "analysis/plan/room/outline.hpp"

namespace analysis::plan {

struct PanelRun {
  std::size_t row = 0;
  double low_x_m = 0.0;
  double high_x_m = 0.0;
  [[nodiscard]] double length_m() const { return high_x_m - low_x_m; }
};

struct RunRules {
  double panel_m = 0.0;
  double least_piece_m = 0.0;
  double least_offset_m = 0.0;  // of end joints in rows beside each other
  double saw_cut_m = 0.0;
  // What a first and a last piece have of one panel together.
  [[nodiscard]] double room_m() const { return panel_m - saw_cut_m; }
};

// A run of one piece has only that one: `start_m` is its length.
struct RunPieces {
  double start_m = 0.0;
  double end_m = 0.0;  // of runs with more than one piece
  int whole = 0;       // between them
};
[[nodiscard]] bool is_whole(double piece_m, const RunRules& rules);
[[nodiscard]] bool is_one_piece(const PanelRun& run, const RunRules& rules);
[[nodiscard]] RunPieces pieces_from_start(const PanelRun& run, const RunRules& rules,
                                          double start_m);

// Nearest end joints of two runs; infinite where one of them has none.
[[nodiscard]] double joint_distance_m(const PanelRun& a, double start_a_m, const PanelRun& b,
                                      double start_b_m, const RunRules& rules);

// The first piece, up to a panel, of a run whose joints lie where this length puts them.
[[nodiscard]] double wrapped_start(double start_m, const RunRules& rules);
// Whether the first and the last piece are neither too long nor too short.
[[nodiscard]] bool is_allowed_start(const PanelRun& run, double start_m, const RunRules& rules);

}  // namespace analysis::plan
