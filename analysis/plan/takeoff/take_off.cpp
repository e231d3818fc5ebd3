#include "analysis/plan/takeoff/take_off.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "analysis/plan/room/stretches.hpp"
#include "analysis/plan/takeoff/bar_cutting.hpp"

namespace analysis::plan {
namespace {

constexpr double kRounding = 1e-9;
constexpr double kSameSheet = 1e-6;  // m2 or m: less apart is as good

// Strips of the roll's width over the region, beside each other at `step`, each as long as the
// region is there, drawn out by `upturn` at the ends and on both sides.
std::vector<Bounds> strips_over(const Region& region, double width, double step, double upturn) {
  const Bounds bounds = bounds_of(region.outer);
  std::vector<Bounds> strips;
  const double low = bounds.low_y_m - upturn;
  const double high = bounds.high_y_m + upturn;
  const int count = std::max(1, rounded_up((high - low - width) / step) + 1);
  for (int i = 0; i < count; ++i) {
    const double from = low + i * step;
    const double to = std::min(from + width, high);
    for (const Stretch& run : stretches_between(region, from, to, bounds)) {
      strips.push_back({run.low_x_m - upturn, run.high_x_m + upturn, from, to});
    }
  }
  return strips;
}

double length_of(const Bounds& strip) { return strip.high_x_m - strip.low_x_m; }

// A strip longer than a roll is made of several, lapped.
double length_with_laps(double length, double roll, double lap) {
  if (length <= roll) {
    return length;
  }
  const int pieces = 1 + rounded_up((length - roll) / (roll - lap));
  return length + (pieces - 1) * lap;
}

double shared_length(const Bounds& a, const Bounds& b) {
  return std::max(0.0, std::min(a.high_x_m, b.high_x_m) - std::max(a.low_x_m, b.low_x_m));
}

// All but the rolls.
SheetNeed need_of(std::vector<Bounds> strips, const RollSize& roll, double lap) {
  SheetNeed need;
  double seams = 0.0;
  double sheet = 0.0;
  for (std::size_t i = 0; i < strips.size(); ++i) {
    const double plain = length_of(strips[i]);
    const double length = length_with_laps(plain, roll.length.value(), lap);
    const double ends = plain <= roll.length.value()
                            ? 0.0
                            : std::round((length - plain) / std::max(lap, kRounding));
    seams += ends * (strips[i].high_y_m - strips[i].low_y_m);
    need.cut_lengths.push_back(Metres{length});
    sheet += length * roll.width.value();
    for (std::size_t j = 0; j < i; ++j) {
      if (strips[j].low_y_m < strips[i].low_y_m &&
          strips[j].high_y_m >= strips[i].low_y_m - kRounding) {
        seams += shared_length(strips[i], strips[j]);
      }
    }
  }
  need.strips = std::move(strips);
  need.seams = Metres{seams};
  need.sheet = SquareMetres{sheet};
  return need;
}

double degrees_of_longest_wall(const Region& region) {
  double longest = 0.0;
  double radians = 0.0;
  for (std::size_t i = 0; i < region.outer.size(); ++i) {
    const Wall wall = wall_of(region.outer, i);
    const double length = wall.length_m();
    if (length > longest + kSameSheet) {
      longest = length;
      radians = std::atan2(wall.to.y_m - wall.from.y_m, wall.to.x_m - wall.from.x_m);
    }
  }
  return radians * 180.0 / std::numbers::pi;
}

}  // namespace

int rounded_up(double count) { return static_cast<int>(std::ceil(count - kRounding)); }

CartonNeed carton_need_from(const std::vector<RoomPanels>& rooms, const PackSize& pack,
                            int delivered) {
  double floor = 0.0;
  double with_waste = 0.0;
  CartonNeed need;
  for (const RoomPanels& room : rooms) {
    floor += room.floor.value();
    with_waste += room.floor.value() * (1.0 + room.waste_rule_fraction);
    need.panels_by_layout += room.panels;
  }
  need.floor = SquareMetres{floor};
  need.with_waste = SquareMetres{with_waste};
  need.cartons_by_rule = rounded_up(with_waste / pack.coverage.value());
  need.cartons_by_layout = (need.panels_by_layout + pack.panels - 1) / pack.panels;
  const double laid = need.panels_by_layout * pack.coverage.value() / pack.panels;
  need.waste_by_layout_fraction = floor > 0.0 ? laid / floor - 1.0 : 0.0;
  need.delivered = delivered;
  const int left = std::max(need.cartons_by_rule, need.cartons_by_layout) - delivered;
  need.cartons_to_order = std::max(0, left);
  need.over = std::max(0, -left);
  return need;
}

SheetNeed underlay_need_from(const Region& region, const RollSize& roll) {
  SheetNeed need =
      need_of(strips_over(region, roll.width.value(), roll.width.value(), 0.0), roll, 0.0);
  double laid = 0.0;
  for (const Metres strip : need.cut_lengths) {
    laid += strip.value();
  }
  need.seams =
      Metres{need.seams.value() + roll_end_seams_of(need, roll.length, Metres{0.0}).value()};
  need.rolls = rounded_up(laid / roll.length.value());
  return need;
}

Metres roll_end_seams_of(const SheetNeed& underlay, Metres roll_length, Metres laid) {
  double after = laid.value();
  double ends = 0.0;
  for (std::size_t i = 0; i < underlay.strips.size(); ++i) {
    const double before = after;
    after += underlay.cut_lengths[i].value();
    // Ends of rolls that lie within the strip, not at its own ends.
    const double joints = std::ceil(after / roll_length.value() - kRounding) - 1.0 -
                          std::floor(before / roll_length.value() + kRounding);
    ends += std::max(joints, 0.0) * (underlay.strips[i].high_y_m - underlay.strips[i].low_y_m);
  }
  return Metres{ends};
}

base::Result<SheetNeed, std::string> barrier_need_from(const Region& region, const RollSize& roll,
                                                       const BarrierRules& rules) {
  const double step = roll.width.value() - rules.lap.value();
  if (step <= kRounding || roll.length.value() <= rules.lap.value()) {
    return base::Failure{std::string("a roll that is no wider or longer than its lap")};
  }
  const auto laid = [&](double degrees, SheetLay lay) {
    SheetNeed need = need_of(
        strips_over(turned(region, degrees), roll.width.value(), step, rules.upturn.value()), roll,
        rules.lap.value());
    need.lay = lay;
    return need;
  };
  const double wall = degrees_of_longest_wall(region);
  SheetNeed best = laid(0.0, SheetLay::along_panels);
  for (SheetNeed other : {laid(90.0, SheetLay::across_panels), laid(-wall, SheetLay::along_walls),
                          laid(90.0 - wall, SheetLay::along_walls)}) {
    const double more = other.sheet.value() - best.sheet.value();
    if (more < -kSameSheet ||
        (more < kSameSheet && other.seams.value() < best.seams.value() - kSameSheet)) {
      best = std::move(other);
    }
  }
  best.rolls = least_bars_from(best.cut_lengths, roll.length, Metres{0.0});
  return best;
}

Transition transition_from_step(Metres adjoining_above) {
  constexpr double kSameLevel = 0.003 + kRounding;
  if (std::abs(adjoining_above.value()) <= kSameLevel) {
    return Transition::same_level;
  }
  return adjoining_above.value() < 0.0 ? Transition::to_lower : Transition::to_edge;
}

TrimNeed trim_need_from(const Region& region, const std::vector<Door>& doors, Metres bar) {
  TrimNeed need;
  double wall = perimeter_of(region.outer).value();
  for (const Outline& hole : region.holes) {
    wall += perimeter_of(hole).value();
  }
  double lengths[3] = {0.0, 0.0, 0.0};
  for (const Door& door : doors) {
    wall -= door.width.value();
    lengths[static_cast<std::size_t>(door.transition)] += door.width.value();
  }
  wall = std::max(wall, 0.0);
  need.wall = Metres{wall};
  need.wall_lengths = rounded_up(wall * kMitreShare / bar.value());
  need.t_moulding = Metres{lengths[0]};
  need.reducer = Metres{lengths[1]};
  need.edge = Metres{lengths[2]};
  need.spacers = rounded_up(wall / kSpacerStep.value());
  return need;
}

}  // namespace analysis::plan
