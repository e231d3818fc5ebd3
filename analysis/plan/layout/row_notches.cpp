#include "analysis/plan/layout/row_notches.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/room/stretches.hpp"

namespace analysis::plan {
namespace {

constexpr double kSawn = 1e-3;  // metres: nobody rips off less

void take_notches(const Outline& outline, const Row& row, const Stretch& run, int number,
                  std::vector<RowNotch>& notches) {
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const auto [a, b] = wall_of(outline, i);
    const double low = std::max(std::min(a.x_m, b.x_m), run.low_x_m);
    const double high = std::min(std::max(a.x_m, b.x_m), run.high_x_m);
    const bool inside = a.y_m > row.low_y_m + kSawn && a.y_m < row.high_y_m - kSawn;
    if (std::abs(a.y_m - b.y_m) > kSameLength || !inside || high - low < kSawn) {
      continue;
    }
    // The floor lies to the left of a wall from a to b.
    const bool floor_below = b.x_m < a.x_m;
    notches.push_back({number, Metres{low - run.low_x_m}, Metres{high - run.low_x_m},
                       Metres{floor_below ? a.y_m - row.low_y_m : row.high_y_m - a.y_m},
                       floor_below, low - run.low_x_m < kSawn && run.high_x_m - high < kSawn});
  }
}

}  // namespace

std::vector<RowNotch> notches_of(const Region& floor, const RowLayout& layout) {
  std::vector<RowNotch> notches;
  for (std::size_t i = 0; i < layout.rows.size(); ++i) {
    const Row& row = layout.rows[i];
    for (const auto& pieces : row.runs) {
      if (pieces.empty()) {
        continue;
      }
      const Stretch run{pieces.front().low_x_m, pieces.back().high_x_m};
      const int number = static_cast<int>(i) + 1;
      take_notches(floor.outer, row, run, number, notches);
      for (const Outline& hole : floor.holes) {
        take_notches(hole, row, run, number, notches);
      }
    }
  }
  return notches;
}

Remark remark_of(const RowNotch& notch) {
  return remark_from([&](bool imperial) {
    const auto length = [&](Metres metres) { return length_text_from(metres, imperial); };
    return "row " + std::to_string(notch.row) + ": " +
           (notch.is_whole_run ? ""
                               : "from " + length(notch.from) + " to " + length(notch.to) +
                                     " from its left end ") +
           "ripped to " + sawn_text_from(notch.left, imperial) + " beside a wall, cut off at the " +
           (notch.on_far_side ? "next row" : "row before");
  });
}

}  // namespace analysis::plan
