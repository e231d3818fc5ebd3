#include "analysis/plan/stacking/stack_places.hpp"

#include <algorithm>
#include <cmath>

namespace analysis::plan {
namespace {

constexpr double kFinestStep = 0.05;      // metres
constexpr double kMostGridSteps = 400.0;  // along a side of the room

// Whether the wall passes through the inside of the box (Liang and Barsky 1984, from memory).
bool passes_through(const Bounds& box, const Wall& wall) {
  const PlanPoint a = wall.from;
  const PlanPoint b = wall.to;
  double from = 0.0;
  double to = 1.0;
  const auto clip = [&](double start, double change, double low, double high) {
    if (std::abs(change) < 1e-12) {
      return start > low + kSameLength && start < high - kSameLength;
    }
    const double first = (low + kSameLength - start) / change;
    const double second = (high - kSameLength - start) / change;
    from = std::max(from, std::min(first, second));
    to = std::min(to, std::max(first, second));
    return from < to;
  };
  return clip(a.x_m, b.x_m - a.x_m, box.low_x_m, box.high_x_m) &&
         clip(a.y_m, b.y_m - a.y_m, box.low_y_m, box.high_y_m);
}
bool meets(const Bounds& box, const Outline& outline) {
  for (std::size_t i = 0; i < outline.size(); ++i) {
    if (passes_through(box, wall_of(outline, i))) {
      return true;
    }
  }
  return false;
}

bool overlap(const Bounds& a, const Bounds& b) {
  return a.low_x_m < b.high_x_m - kSameLength && b.low_x_m < a.high_x_m - kSameLength &&
         a.low_y_m < b.high_y_m - kSameLength && b.low_y_m < a.high_y_m - kSameLength;
}

class StackPlacer {
 public:
  explicit StackPlacer(const StackRoom& room) : room_(room), bounds_(bounds_of(room.room.outer)) {
    const double side =
        std::max(bounds_.high_x_m - bounds_.low_x_m, bounds_.high_y_m - bounds_.low_y_m);
    step_ = std::max(kFinestStep, side / kMostGridSteps);
  }

  // Boxes, air included, of so many stacks; from the last rows on to the first.
  [[nodiscard]] std::vector<Bounds> boxes(int count, double width, double depth) const {
    std::vector<Bounds> placed;
    for (double high = bounds_.high_y_m; high - depth > bounds_.low_y_m - kSameLength;
         high -= step_) {
      double low = bounds_.low_x_m;
      while (low + width < bounds_.high_x_m + kSameLength) {
        if (static_cast<int>(placed.size()) == count) {
          return placed;
        }
        const Bounds box{low, low + width, high - depth, high};
        if (is_free(box, placed)) {
          placed.push_back(box);
          low += width;
        } else {
          low += step_;
        }
      }
    }
    return placed;
  }

 private:
  [[nodiscard]] bool is_free(const Bounds& box, const std::vector<Bounds>& placed) const {
    for (const Bounds& other : placed) {
      if (overlap(box, other)) {
        return false;
      }
    }
    if (meets(box, room_.room.outer) || !contains(room_.room, middle_of(box))) {
      return false;
    }
    for (const Outline& hole : room_.room.holes) {
      if (meets(box, hole)) {
        return false;
      }
    }
    for (const Outline& clear : room_.clear) {
      if (meets(box, clear) || contains(Region{clear, {}}, middle_of(box))) {
        return false;
      }
    }
    return true;
  }

  const StackRoom& room_;
  Bounds bounds_;
  double step_;
};

double lowest_of(const std::vector<Bounds>& boxes) {
  double low = boxes.front().low_y_m;
  for (const Bounds& box : boxes) {
    low = std::min(low, box.low_y_m);
  }
  return low;
}

}  // namespace

std::optional<std::vector<PlacedStack>> places_for(const Stacking& stacking,
                                                   const CartonSize& carton, int cartons,
                                                   const StackRoom& room) {
  const double air = kStackAir.value();
  const double length = carton.length.value() + 2.0 * air;
  const double width = carton.width.value() * stacking.cartons_wide + 2.0 * air;
  const StackPlacer placer(room);
  std::vector<Bounds> best;
  const auto count = static_cast<std::size_t>(stacking.stacks);
  for (const auto& [x, y] : {std::pair{length, width}, std::pair{width, length}}) {
    const std::vector<Bounds> boxes = placer.boxes(stacking.stacks, x, y);
    if (boxes.size() == count &&
        (best.empty() || lowest_of(boxes) > lowest_of(best) + kSameLength)) {
      best = boxes;
    }
  }
  if (best.size() != count) {
    return std::nullopt;
  }
  std::vector<PlacedStack> placed;
  int left = cartons;
  const int each = stacking.cartons_high * stacking.cartons_wide;
  for (const Bounds& box : best) {
    placed.push_back(
        {{box.low_x_m + air, box.high_x_m - air, box.low_y_m + air, box.high_y_m - air},
         std::min(each, left)});
    left -= placed.back().cartons;
  }
  return placed;
}

}  // namespace analysis::plan
