#include "analysis/plan/room/stretches.hpp"

#include <algorithm>
#include <utility>

namespace analysis::plan {
namespace {

// The region between two heights with no corner between them: one trapezoid for each pair of walls.
struct Trapezoid {
  double low_left = 0.0;  // x at the lower height
  double low_right = 0.0;
  double high_left = 0.0;
  double high_right = 0.0;
};

void take_crossings(const Outline& outline, double low, double high,
                    std::vector<std::pair<double, double>>& crossings) {
  const double middle = (low + high) / 2.0;
  for (std::size_t i = 0; i < outline.size(); ++i) {
    const Wall wall = wall_of(outline, i);
    if ((wall.from.y_m > middle) != (wall.to.y_m > middle)) {
      crossings.emplace_back(wall.x_at(low), wall.x_at(high));
    }
  }
}

std::vector<Trapezoid> trapezoids_between(const Region& region, double low, double high,
                                          const Bounds& clip) {
  std::vector<std::pair<double, double>> crossings;
  take_crossings(region.outer, low, high, crossings);
  for (const Outline& hole : region.holes) {
    take_crossings(hole, low, high, crossings);
  }
  std::sort(crossings.begin(), crossings.end(),
            [](const auto& a, const auto& b) { return a.first + a.second < b.first + b.second; });
  std::vector<Trapezoid> trapezoids;
  for (std::size_t i = 0; i + 1 < crossings.size(); i += 2) {
    const auto within = [&](double x) { return std::clamp(x, clip.low_x_m, clip.high_x_m); };
    const Trapezoid t{within(crossings[i].first), within(crossings[i + 1].first),
                      within(crossings[i].second), within(crossings[i + 1].second)};
    if (std::max(t.low_right, t.high_right) - std::min(t.low_left, t.high_left) > kSameLength) {
      trapezoids.push_back(t);
    }
  }
  return trapezoids;
}

std::vector<double> heights_between(const Region& region, double low, double high) {
  std::vector<double> heights{low, high};
  const auto take = [&](const Outline& outline) {
    for (const PlanPoint corner : outline) {
      if (corner.y_m > low + kSameLength && corner.y_m < high - kSameLength) {
        heights.push_back(corner.y_m);
      }
    }
  };
  take(region.outer);
  std::for_each(region.holes.begin(), region.holes.end(), take);
  std::sort(heights.begin(), heights.end());
  heights.erase(std::unique(heights.begin(), heights.end(),
                            [](double a, double b) { return b - a <= kSameLength; }),
                heights.end());
  return heights;
}

// Which of the pieces below each piece of one band belongs to; pieces that join are merged.
class Pieces {
 public:
  std::size_t add(double low_x, double high_x) {
    parent_.push_back(parent_.size());
    reach_.push_back({low_x, high_x});
    return parent_.size() - 1;
  }
  void join(std::size_t a, std::size_t b) {
    a = root_of(a);
    b = root_of(b);
    if (a != b) {
      parent_[b] = a;
      reach_[a] = {std::min(reach_[a].low_x_m, reach_[b].low_x_m),
                   std::max(reach_[a].high_x_m, reach_[b].high_x_m)};
    }
  }
  [[nodiscard]] std::vector<Stretch> stretches() const {
    std::vector<Stretch> found;
    for (std::size_t i = 0; i < parent_.size(); ++i) {
      if (parent_[i] == i) {
        found.push_back(reach_[i]);
      }
    }
    std::sort(found.begin(), found.end(),
              [](const Stretch& a, const Stretch& b) { return a.low_x_m < b.low_x_m; });
    return found;
  }

 private:
  std::size_t root_of(std::size_t i) const {
    while (parent_[i] != i) {
      i = parent_[i];
    }
    return i;
  }
  std::vector<std::size_t> parent_;
  std::vector<Stretch> reach_;
};

}  // namespace

std::vector<Stretch> stretches_between(const Region& region, double low_y_m, double high_y_m,
                                       const Bounds& clip) {
  const double low = std::max(low_y_m, clip.low_y_m);
  const double high = std::min(high_y_m, clip.high_y_m);
  if (high - low <= kSameLength) {
    return {};
  }
  const std::vector<double> heights = heights_between(region, low, high);
  Pieces pieces;
  std::vector<std::pair<Trapezoid, std::size_t>> below;
  for (std::size_t band = 0; band + 1 < heights.size(); ++band) {
    std::vector<std::pair<Trapezoid, std::size_t>> here;
    for (const Trapezoid& t : trapezoids_between(region, heights[band], heights[band + 1], clip)) {
      const std::size_t piece =
          pieces.add(std::min(t.low_left, t.high_left), std::max(t.low_right, t.high_right));
      for (const auto& [other, other_piece] : below) {
        if (std::min(other.high_right, t.low_right) - std::max(other.high_left, t.low_left) >
            kSameLength) {
          pieces.join(other_piece, piece);
        }
      }
      here.emplace_back(t, piece);
    }
    below = std::move(here);
  }
  return pieces.stretches();
}

}  // namespace analysis::plan
