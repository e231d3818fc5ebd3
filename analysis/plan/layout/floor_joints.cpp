#include "analysis/plan/layout/floor_joints.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <tuple>

namespace analysis::plan {
namespace {

constexpr double kLeastPart = 1.0;  // metres
constexpr double kHalfBand = 1e-3;  // metres: a line is looked at so far to both sides

// What a set of lines costs; the smaller one is better, from the first figure on.
struct JointCost {
  std::size_t lines = 0;
  std::int64_t profile_mm = 0;
  std::size_t away_from_corners = 0;
  double uneven_m2 = 0.0;  // squares of the parts' sizes, added up

  [[nodiscard]] auto key() const {
    return std::tie(lines, profile_mm, away_from_corners, uneven_m2);
  }
};
JointCost operator+(const JointCost& a, const JointCost& b) {
  return {a.lines + b.lines, a.profile_mm + b.profile_mm, a.away_from_corners + b.away_from_corners,
          a.uneven_m2 + b.uneven_m2};
}

std::int64_t profile_mm(const Region& floor, double y_m) {
  double length = 0.0;
  for (const Stretch& run : floor_on_line(floor, y_m)) {
    length += run.high_x_m - run.low_x_m;
  }
  return std::llround(length * 1000.0);
}

// Without the rounding of a sum, so that the same room gives the same rows.
double snapped(double value, double to) { return std::abs(value - to) < kSameLength ? to : value; }

// Inner corners that leave room for a part on both sides, by height, one for each height.
std::vector<JointLine> inner_corners(const Region& room, double low, double high) {
  std::vector<JointLine> lines;
  for (std::size_t i = 0; i < room.outer.size(); ++i) {
    const double y = room.outer[i].y_m;
    if (is_inner_corner(room, i) && y - low >= kLeastPart && high - y >= kLeastPart) {
      lines.push_back({y, static_cast<int>(i) + 1});
    }
  }
  std::stable_sort(lines.begin(), lines.end(),
                   [](const JointLine& a, const JointLine& b) { return a.at_m < b.at_m; });
  lines.erase(std::unique(lines.begin(), lines.end(),
                          [](const JointLine& a, const JointLine& b) {
                            return b.at_m - a.at_m <= kSameLength;
                          }),
              lines.end());
  return lines;
}

// The way from one end of the floor to the other, over corners, that costs least.
class JointSearch {
 public:
  JointSearch(const FloorSides& sides, double most) : floor_(sides.floor), most_(most) {
    const Bounds all = bounds_of(sides.floor.outer);
    stops_ = inner_corners(sides.room, all.low_y_m, all.high_y_m);
    stops_.insert(stops_.begin(), JointLine{all.low_y_m, 0});
    stops_.push_back({all.high_y_m, 0});
  }

  std::vector<JointLine> best() {
    std::vector<JointCost> cost(stops_.size(), kUnreached);
    std::vector<std::size_t> before(stops_.size(), 0);
    cost.front() = {};
    for (std::size_t to = 1; to < stops_.size(); ++to) {
      for (std::size_t from = 0; from < to; ++from) {
        if (stops_[to].at_m - stops_[from].at_m < kLeastPart && to - from < stops_.size() - 1) {
          continue;
        }
        const JointCost whole = cost[from] + cost_between(from, to);
        if (cost[from].lines != kUnreached.lines && whole.key() < cost[to].key()) {
          cost[to] = whole;
          before[to] = from;
        }
      }
    }
    std::vector<JointLine> lines;
    for (std::size_t to = stops_.size() - 1; to > 0; to = before[to]) {
      if (stops_[to].corner > 0) {
        lines.push_back(stops_[to]);
      }
      const auto between = equal_lines(before[to], to);
      lines.insert(lines.end(), between.rbegin(), between.rend());
    }
    std::reverse(lines.begin(), lines.end());
    return lines;
  }

 private:
  static constexpr JointCost kUnreached{std::numeric_limits<std::size_t>::max() / 2, 0, 0, 0.0};

  [[nodiscard]] std::vector<JointLine> equal_lines(std::size_t from, std::size_t to) const {
    const double low = stops_[from].at_m;
    const double size = stops_[to].at_m - low;
    const int parts = static_cast<int>(std::ceil(size / most_ - kSameLength));
    std::vector<JointLine> lines;
    for (int i = 1; i < parts; ++i) {
      lines.push_back({low + size * i / parts, 0});
    }
    return lines;
  }
  // Of the lines between two stops, and of the one at the upper stop where that is a corner.
  [[nodiscard]] JointCost cost_between(std::size_t from, std::size_t to) const {
    const auto between = equal_lines(from, to);
    const double size = stops_[to].at_m - stops_[from].at_m;
    JointCost cost{between.size(), 0, between.size(),
                   size * size / static_cast<double>(between.size() + 1)};
    for (const JointLine& line : between) {
      cost.profile_mm += profile_mm(floor_, line.at_m);
    }
    if (stops_[to].corner > 0) {
      ++cost.lines;
      cost.profile_mm += profile_mm(floor_, stops_[to].at_m);
    }
    return cost;
  }

  const Region& floor_;
  double most_;
  std::vector<JointLine> stops_;  // both ends and the corners between them
};

}  // namespace

std::vector<JointLine> joint_lines_from(const FloorSides& sides, std::optional<Metres> most) {
  const Bounds all = bounds_of(sides.floor.outer);
  if (!most || all.high_y_m - all.low_y_m <= most->value() + kSameLength) {
    return {};
  }
  return JointSearch(sides, most->value()).best();
}

std::vector<Stretch> floor_on_line(const Region& floor, double y_m) {
  return stretches_between(floor, y_m - kHalfBand, y_m + kHalfBand, bounds_of(floor.outer));
}

std::optional<Bounds> floor_within(const Region& floor, const Bounds& field) {
  const auto across = stretches_between(floor, field.low_y_m, field.high_y_m, field);
  const auto along =
      stretches_between(turned(floor, 90.0), field.low_x_m, field.high_x_m, quarter_turned(field));
  if (across.empty() || along.empty()) {
    return std::nullopt;
  }
  Bounds box{across.front().low_x_m, across.front().high_x_m, -along.front().high_x_m,
             -along.front().low_x_m};
  for (const Stretch& run : across) {
    box.low_x_m = std::min(box.low_x_m, run.low_x_m);
    box.high_x_m = std::max(box.high_x_m, run.high_x_m);
  }
  for (const Stretch& run : along) {
    box.low_y_m = std::min(box.low_y_m, -run.high_x_m);
    box.high_y_m = std::max(box.high_y_m, -run.low_x_m);
  }
  return Bounds{snapped(box.low_x_m, field.low_x_m), snapped(box.high_x_m, field.high_x_m),
                snapped(box.low_y_m, field.low_y_m), snapped(box.high_y_m, field.high_y_m)};
}

// A line is longest beside a corner: between corners its ends move straight on.
Metres longest_run_in(const Region& floor, const Bounds& field) {
  std::vector<double> heights{field.low_y_m + 2 * kHalfBand, field.high_y_m - 2 * kHalfBand};
  const auto take = [&](const Outline& outline) {
    for (const PlanPoint corner : outline) {
      heights.insert(heights.end(), {corner.y_m - 2 * kHalfBand, corner.y_m + 2 * kHalfBand});
    }
  };
  take(floor.outer);
  std::for_each(floor.holes.begin(), floor.holes.end(), take);
  double longest = 0.0;
  for (const double y : heights) {
    for (const Stretch& run : stretches_between(floor, y - kHalfBand, y + kHalfBand, field)) {
      longest = std::max(longest, run.high_x_m - run.low_x_m);
    }
  }
  return Metres{longest};
}

Bounds quarter_turned(const Bounds& field) {
  return {-field.high_y_m, -field.low_y_m, field.low_x_m, field.high_x_m};
}

}  // namespace analysis::plan
