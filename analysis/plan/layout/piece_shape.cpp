#include "analysis/plan/layout/piece_shape.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/room/stretches.hpp"

namespace analysis::plan {
namespace {

constexpr double kRipped = 1e-3;  // metres: nobody rips off less

// A slice of a piece between two places with no corner between them: where it has floor.
struct Slice {
  double from_x = 0.0;
  double to_x = 0.0;
  std::vector<std::pair<double, double>> floor;  // y, by increase
};

// The part of a wall within the box; of no length where it stays outside.
Wall clipped(const Wall& wall, const Bounds& box) {
  double from = 0.0;
  double to = 1.0;
  const auto keep = [&](double start, double step, double low, double high) {
    if (std::abs(step) < kSameLength) {
      to = start < low || start > high ? from : to;
      return;
    }
    const auto [enter, leave] = std::minmax({(low - start) / step, (high - start) / step});
    from = std::max(from, enter);
    to = std::min(to, leave);
  };
  const double dx = wall.to.x_m - wall.from.x_m;
  const double dy = wall.to.y_m - wall.from.y_m;
  keep(wall.from.x_m, dx, box.low_x_m, box.high_x_m);
  keep(wall.from.y_m, dy, box.low_y_m, box.high_y_m);
  to = std::max(from, to);
  const auto point = [&](double t) {
    return PlanPoint{wall.from.x_m + t * dx, wall.from.y_m + t * dy};
  };
  return {point(from), point(to)};
}

class ShapeFinder {
 public:
  ShapeFinder(const Region& floor, const Bounds& box)
      : floor_(floor), box_(box), across_(turned(floor, 90.0)) {}

  PieceShape shape() {
    look_at_walls();
    slice();
    measure();
    for (const Slice& slice : slices_) {
      add_notches(slice);
    }
    if (shape_.slanted) {
      shape_.along_before = floor_along(box_.low_y_m);
      shape_.along_next = floor_along(box_.high_y_m - kRipped);
    }
    return std::move(shape_);
  }

 private:
  void look_at_walls() {
    const auto look = [&](const Outline& outline) {
      for (std::size_t i = 0; i < outline.size(); ++i) {
        const Wall part = clipped(wall_of(outline, i), box_);
        const double dx = std::abs(part.to.x_m - part.from.x_m);
        const double dy = std::abs(part.to.y_m - part.from.y_m);
        if (dx + dy > kSameLength) {
          places_.push_back(part.from.x_m);
          places_.push_back(part.to.x_m);
        }
        shape_.slanted = shape_.slanted || (dx > kRipped && dy > kRipped);
      }
    };
    look(floor_.outer);
    std::for_each(floor_.holes.begin(), floor_.holes.end(), look);
  }

  void slice() {
    places_.push_back(box_.low_x_m);
    places_.push_back(box_.high_x_m);
    std::sort(places_.begin(), places_.end());
    for (std::size_t i = 0; i + 1 < places_.size(); ++i) {
      Slice slice{places_[i], places_[i + 1], {}};
      // A quarter turn takes x to y, and y to -x.
      const Bounds clip{-box_.high_y_m, -box_.low_y_m, slice.from_x, slice.to_x};
      for (const Stretch& run : stretches_between(across_, slice.from_x, slice.to_x, clip)) {
        slice.floor.insert(slice.floor.begin(), {-run.high_x_m, -run.low_x_m});
      }
      if (!slice.floor.empty()) {
        slices_.push_back(std::move(slice));
      }
    }
  }

  void measure() {
    low_ = box_.high_y_m;
    high_ = box_.low_y_m;
    for (const Slice& slice : slices_) {
      low_ = std::min(low_, slice.floor.front().first);
      high_ = std::max(high_, slice.floor.back().second);
    }
    const auto ripped = [](double off) { return Metres{off < kRipped ? 0.0 : off}; };
    shape_.off_at_before = ripped(low_ - box_.low_y_m);
    shape_.off_at_next = ripped(box_.high_y_m - high_);
    low_ = box_.low_y_m + shape_.off_at_before.value();
    high_ = box_.high_y_m - shape_.off_at_next.value();
    shape_.width = Metres{high_ - low_};
  }

  void add_notches(const Slice& slice) {
    double free_from = low_;
    NotchSide side = NotchSide::row_before;
    for (const auto& [low, high] : slice.floor) {
      add_notch(slice, free_from, low, side);
      free_from = high;
      side = NotchSide::inside;
    }
    add_notch(slice, free_from, high_, NotchSide::next_row);
  }
  // One that goes on from the slice before is one notch.
  void add_notch(const Slice& slice, double low, double high, NotchSide side) {
    if (high - low < kRipped || slice.to_x - slice.from_x < kRipped) {
      return;
    }
    const PieceNotch notch{Metres{slice.from_x - box_.low_x_m}, Metres{slice.to_x - box_.low_x_m},
                           Metres{low - low_}, Metres{high - low_}, side};
    const auto same = [](Metres a, Metres b) { return std::abs(a.value() - b.value()) < kRipped; };
    for (PieceNotch& before : shape_.notches) {
      if (same(before.to, notch.from) && same(before.low, notch.low) &&
          same(before.high, notch.high)) {
        before.to = notch.to;
        return;
      }
    }
    shape_.notches.push_back(notch);
  }

  [[nodiscard]] Metres floor_along(double y) const {
    double length = 0.0;
    for (const Stretch& run : stretches_between(floor_, y, y + kRipped, box_)) {
      length += run.high_x_m - run.low_x_m;
    }
    return Metres{length};
  }

  const Region& floor_;
  const Bounds box_;
  const Region across_;  // the floor turned by a quarter
  std::vector<double> places_;
  std::vector<Slice> slices_;
  double low_ = 0.0;
  double high_ = 0.0;
  PieceShape shape_;
};

const char* side_text(NotchSide side) {
  return side == NotchSide::row_before ? "notched at the row before, "
         : side == NotchSide::next_row ? "notched at the next row, "
                                       : "cut out ";
}

}  // namespace

PieceShape shape_of(const Region& floor, const Row& row, const Piece& piece) {
  const Bounds box{piece.low_x_m, piece.high_x_m, row.low_y_m, row.high_y_m};
  return ShapeFinder(floor, box).shape();
}

std::string text_from(const PieceShape& shape, bool imperial) {
  const auto length = [&](Metres metres) { return sawn_text_from(metres, imperial); };
  std::string text;
  const auto say = [&](const std::string& words) { text += (text.empty() ? "" : ", ") + words; };
  if (shape.is_ripped()) {
    std::string off;
    for (const auto& [metres, where] : {std::pair{shape.off_at_before, " off at the row before"},
                                        {shape.off_at_next, " off at the next row"}}) {
      if (metres.value() > 0.0) {
        off += (off.empty() ? "" : ", ") + length(metres) + where;
      }
    }
    say("ripped to " + length(shape.width) + " (" + off + ")");
  }
  for (const PieceNotch& notch : shape.notches) {
    say(side_text(notch.side) + length(notch.deep()) + " deep" +
        (notch.side == NotchSide::inside ? ", " + length(notch.low) + " off the row before," : "") +
        " from " + length(notch.from) + " to " + length(notch.to));
  }
  if (shape.slanted) {
    say("cut at a slant: " + length(shape.along_before) + " long at the row before, " +
        length(shape.along_next) + " at the next row");
  }
  return text;
}

}  // namespace analysis::plan
