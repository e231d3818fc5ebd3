#include "analysis/plan/layout/panel_run.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace analysis::plan {
namespace {

int joints_of(const PanelRun& run, double start, const RunRules& rules) {
  return is_one_piece(run, rules)
             ? 0
             : static_cast<int>(std::ceil((run.length_m() - start) / rules.panel_m - kSameLength));
}

}  // namespace

bool is_whole(double piece_m, const RunRules& rules) {
  return piece_m >= rules.panel_m - kSameLength;
}

bool is_one_piece(const PanelRun& run, const RunRules& rules) {
  return run.length_m() <= rules.panel_m + kSameLength;
}

RunPieces pieces_from_start(const PanelRun& run, const RunRules& rules, double start_m) {
  if (is_one_piece(run, rules)) {
    return {run.length_m(), 0.0, 0};
  }
  const double rest = run.length_m() - start_m;
  const int whole = static_cast<int>(std::ceil(rest / rules.panel_m - kSameLength)) - 1;
  return {start_m, rest - whole * rules.panel_m, whole};
}

double joint_distance_m(const PanelRun& a, double start_a_m, const PanelRun& b, double start_b_m,
                        const RunRules& rules) {
  const int joints_a = joints_of(a, start_a_m, rules);
  const int joints_b = joints_of(b, start_b_m, rules);
  double nearest = std::numeric_limits<double>::infinity();
  for (int i = 0; i < joints_a && joints_b > 0; ++i) {
    const double joint = a.low_x_m + start_a_m + i * rules.panel_m;
    const double place = std::round((joint - b.low_x_m - start_b_m) / rules.panel_m);
    const double other = b.low_x_m + start_b_m +
                         std::clamp(place, 0.0, static_cast<double>(joints_b - 1)) * rules.panel_m;
    nearest = std::min(nearest, std::abs(joint - other));
  }
  return nearest;
}

double wrapped_start(double start, const RunRules& rules) {
  const double rest = start - std::floor(start / rules.panel_m) * rules.panel_m;
  return rest <= kSameLength ? rest + rules.panel_m : rest;
}

bool is_allowed_start(const PanelRun& run, double start, const RunRules& rules) {
  return start >= rules.least_piece_m - kSameLength && start <= rules.panel_m + kSameLength &&
         pieces_from_start(run, rules, start).end_m >= rules.least_piece_m - kSameLength;
}

}  // namespace analysis::plan
