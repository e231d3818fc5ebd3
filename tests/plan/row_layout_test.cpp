// Rows of panels: an independent validator, the simple rule of the trade as a peer, and the bound
// that the area sets, over random rooms. Rules and sizes: common practice, no source.
#include "analysis/plan/layout/row_layout.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <iostream>
#include <map>

#include "analysis/plan/layout/row_widths.hpp"
#include "analysis/plan/room/stretches.hpp"
#include "tests/plan/random_rooms.hpp"

using namespace analysis::plan;

namespace {

constexpr double kClose = 1e-6;

LayoutRequest request_for(const Region& region, PanelSize panel) {
  return {region, bounds_of(region.outer), panel, {}, LayoutEffort::quick};
}

// What is wrong with a layout, by its own reckoning: points of the floor that no piece covers,
// pieces off the floor, panels cut to more than they hold, sawn ends away from a wall, rules.
class Validator {
 public:
  Validator(const LayoutRequest& request, const RowLayout& layout)
      : request_(request), layout_(layout), length_(request.panel.length.value()) {}

  std::vector<std::string> faults() {
    double low = request_.field.low_y_m;
    for (const Row& row : layout_.rows) {
      if (std::abs(row.low_y_m - low) > kClose ||
          row.high_y_m - row.low_y_m > request_.panel.width.value() + kClose) {
        faults_.push_back("a row does not follow the one before, or is wider than a panel");
      }
      low = row.high_y_m;
      check_row(row);
    }
    if (std::abs(low - request_.field.high_y_m) > kClose) {
      faults_.push_back("the rows do not fill the floor");
    }
    check_panels();
    check_cover();
    return std::move(faults_);
  }

 private:
  struct Cuts {
    double used = 0.0;
    int pieces = 0;
    int begin = 0;  // that need the right end as it came
    int end = 0;    // that need the left end as it came
  };

  [[nodiscard]] bool is_said(RowRule rule, std::size_t row) const {
    return std::any_of(layout_.breaks.begin(), layout_.breaks.end(), [&](const RuleBreak& broken) {
      return broken.rule == rule && broken.row == static_cast<int>(row) + 1;
    });
  }

  void check_row(const Row& row) {
    std::vector<double> joints;
    const auto number = static_cast<std::size_t>(&row - layout_.rows.data());
    if (row.high_y_m - row.low_y_m < request_.rules.least_row_width.value() - kClose &&
        !is_said(RowRule::row_width, number)) {
      faults_.push_back("a narrow row is not named");
    }
    for (const auto& run : row.runs) {
      for (std::size_t i = 0; i < run.size(); ++i) {
        const Piece& piece = run[i];
        Cuts& cuts = cuts_[piece.panel];
        cuts.used += piece.length_m();
        cuts.pieces += 1;
        if (piece.length_m() > length_ + kClose) {
          faults_.push_back("a piece is longer than a panel");
        }
        if (piece.length_m() < length_ - kClose && run.size() > 1) {
          cuts.begin += i == 0 ? 1 : 0;
          cuts.end += i + 1 == run.size() ? 1 : 0;
          if (i > 0 && i + 1 < run.size()) {
            faults_.push_back("a piece inside a run is cut");
          }
        }
        if (piece.length_m() < request_.rules.least_piece.value() - kClose &&
            (run.size() > 1 || !is_said(RowRule::piece_length, number))) {
          faults_.push_back("a piece is too short");
        }
        if (i > 0) {
          joints.push_back(piece.low_x_m);
          if (std::abs(piece.low_x_m - run[i - 1].high_x_m) > kClose) {
            faults_.push_back("pieces do not meet");
          }
        }
      }
    }
    check_joints(joints, number);
    joints_before_ = joints;
  }

  void check_joints(const std::vector<double>& joints, std::size_t row) {
    double nearest = 1e9;
    for (const double joint : joints) {
      for (const double other : joints_before_) {
        nearest = std::min(nearest, std::abs(joint - other));
      }
    }
    const bool is_near = nearest < request_.rules.least_offset.value() - kClose;
    if (is_near != is_said(RowRule::end_joints, row)) {
      faults_.push_back("end joints of row " + std::to_string(row + 1) + " are " +
                        std::to_string(nearest) + " m apart, and it says otherwise");
    }
  }

  void check_panels() {
    for (const auto& [panel, cuts] : cuts_) {
      if (panel < 1 || panel > layout_.panels ||
          cuts.used + (cuts.pieces - 1) * request_.rules.saw_cut.value() > length_ + kClose) {
        faults_.push_back("panel " + std::to_string(panel) + " is cut to " +
                          std::to_string(cuts.used));
      }
      if (cuts.begin > 1 || cuts.end > 1) {
        faults_.push_back("panel " + std::to_string(panel) + " has one end of each kind only");
      }
    }
    if (static_cast<int>(cuts_.size()) != layout_.panels) {
      faults_.push_back("panels are counted that nothing is cut from");
    }
  }

  // A grid of points: each one on the floor lies under exactly one piece.
  void check_cover() {
    const Bounds& field = request_.field;
    for (double y = field.low_y_m + 0.013; y < field.high_y_m; y += 0.17) {
      const auto row = std::find_if(layout_.rows.begin(), layout_.rows.end(), [&](const Row& each) {
        return y >= each.low_y_m && y < each.high_y_m;
      });
      for (double x = field.low_x_m + 0.017; x < field.high_x_m; x += 0.19) {
        int covered = 0;
        if (row != layout_.rows.end()) {
          for (const auto& run : row->runs) {
            covered +=
                static_cast<int>(std::count_if(run.begin(), run.end(), [&](const Piece& piece) {
                  return x >= piece.low_x_m && x < piece.high_x_m;
                }));
          }
        }
        if (covered > 1 || (covered == 0 && contains(request_.region, {x, y}))) {
          faults_.push_back("the point " + std::to_string(x) + " " + std::to_string(y) +
                            " is covered " + std::to_string(covered) + " times");
        }
      }
    }
  }

  const LayoutRequest& request_;
  const RowLayout& layout_;
  double length_;
  std::map<int, Cuts> cuts_;
  std::vector<double> joints_before_;
  std::vector<std::string> faults_;
};

// The simple rule, written apart from the solver: begin each run with what the row before left over
// where the rules allow it, else with a whole panel, else with the longest piece in steps of 1 cm
// that they allow; what is cut off at the end begins the next run or is thrown away.
struct SimpleRule {
  int panels = 0;
  bool keeps_offsets = true;
};
SimpleRule by_simple_rule(const LayoutRequest& request) {
  bool keeps_offsets = true;
  const double length = request.panel.length.value();
  const LayoutRules& rules = request.rules;
  int panels = 0;
  double left = 0.0;
  std::vector<double> before;
  double low = request.field.low_y_m;
  for (const double width : balanced_widths_m(request.field.high_y_m - request.field.low_y_m,
                                              request.panel.width.value())) {
    std::vector<double> joints;
    for (const Stretch& run : stretches_between(request.region, low, low + width, request.field)) {
      const double whole = run.high_x_m - run.low_x_m;
      if (whole <= length + kClose) {
        if (left >= whole) {
          left = 0.0;
        } else {
          ++panels;
          left = length - whole - rules.saw_cut.value();
        }
        continue;
      }
      const auto fits = [&](double start) {
        if (start < rules.least_piece.value() || start > length) {
          return false;
        }
        double joint = run.low_x_m + start;
        for (; joint < run.high_x_m - kClose; joint += length) {
          for (const double other : before) {
            if (std::abs(joint - other) < rules.least_offset.value() - kClose) {
              return false;
            }
          }
        }
        return run.high_x_m - (joint - length) >= rules.least_piece.value() - kClose;
      };
      double start = left;
      if (!fits(left)) {
        start = length;
        while (!fits(start) && start > 0.0) {
          start -= 0.01;
        }
        if (start <= 0.0) {
          start = length / 2.0;
          keeps_offsets = false;
        }
        ++panels;
      }
      double joint = run.low_x_m + start;
      for (; run.high_x_m - joint > length + kClose; joint += length) {
        joints.push_back(joint);
        ++panels;
      }
      joints.push_back(joint);
      ++panels;
      left = length - (run.high_x_m - joint) - rules.saw_cut.value();
      if (left < rules.least_piece.value()) {
        left = 0.0;
      }
    }
    before = joints;
    low += width;
  }
  return {panels, keeps_offsets};
}

}  // namespace

TEST_CASE("Rows share between first and last what does not come out even") {
  // 3.00 m by panels of 0.20 m: fifteen whole rows.
  CHECK(balanced_widths_m(3.0, 0.20).size() == 15);
  // 3.05 m: 15 x 0.20 leaves 0.05; 14 whole ones and two of (0.20 + 0.05) / 2 = 0.125 m.
  const auto widths = balanced_widths_m(3.05, 0.20);
  REQUIRE(widths.size() == 16);
  CHECK(widths.front() == Approx(0.125));
  CHECK(widths.back() == Approx(0.125));
  CHECK(widths[7] == Approx(0.20));
  CHECK(balanced_widths_m(0.12, 0.20) == std::vector<double>{0.12});
}

TEST_CASE("A row ends where a wall in the room begins, if that saves panels") {
  // Lower part 6 m by 0.95 m = 5 rows of 0.19 m, an arm of 2 m by 1.10 m above it: 2.05 m in all.
  // Balanced: 10 whole rows and 0.15 m, so 0.17 m first and last; the row from 0.93 to 1.12 m goes
  // over the step: 6 rows of 6 m and 5 of 2 m, 46 m. With a whole first row 5 of 6 m and 6 of 2 m,
  // 42 m: four metres less are more than three panels of 1.29 m.
  const Region room{{{0, 0}, {6, 0}, {6, 0.95}, {2, 0.95}, {2, 2.05}, {0, 2.05}}, {}};
  const auto layout = row_layout_from(request_for(room, {Metres{1.29}, Metres{0.19}})).value();
  REQUIRE(layout.rows.size() == 11);
  CHECK(layout.rows.front().high_y_m == Approx(0.19));
  CHECK(layout.rows.back().high_y_m - layout.rows.back().low_y_m == Approx(0.15));
  CHECK(layout.saved_by_widths >= 2);
  CHECK(layout.panels * 1.29 >= 42.0);
}

TEST_CASE("What a room does not allow is named: row, rule, place, value, limit") {
  // Joints of panels of 0.7 m lie at most 0.35 m apart.
  const Region room{{{0, 0}, {3, 0}, {3, 0.38}, {0, 0.38}}, {}};
  const auto layout = row_layout_from(request_for(room, {Metres{0.7}, Metres{0.19}})).value();
  REQUIRE(layout.breaks.size() == 1);
  const RuleBreak& joints = layout.breaks[0];
  CHECK(joints.rule == RowRule::end_joints);
  CHECK(joints.row == 2);
  CHECK(joints.value.value() <= 0.35 + kClose);
  CHECK(joints.limit.value() == 0.40);
  CHECK(text_from(joints, false).rfind("row 2, ", 0) == 0);
  // A strip of 0.04 m; a niche of 0.15 m.
  const Region strip{{{0, 0}, {0.15, 0}, {0.15, 0.04}, {0, 0.04}}, {}};
  const auto small = row_layout_from(request_for(strip, {Metres{1.2}, Metres{0.19}})).value();
  REQUIRE(small.breaks.size() == 2);
  CHECK(text_from(small.breaks[0], false) ==
        "row 1 is 4.0 cm wide, 5.0 cm asked for; the floor is no wider there");
  CHECK(text_from(small.breaks[1], false) ==
        "row 1, 0.0 cm from the left: a piece of 15.0 cm, 20.0 cm asked for; the floor is no "
        "longer there");
}

TEST_CASE("The same request gives the same rows") {
  plan_tests::RandomRooms rooms(20260303);
  for (int i = 0; i < 10; ++i) {
    const LayoutRequest request = request_for(
        inset(region_from(rooms.next_usual()).value(), Metres{0.010}).value(), rooms.usual_panel());
    const auto quick = row_layout_from(request).value();
    const auto again = row_layout_from(request).value();
    CHECK(quick.panels == again.panels);
    CHECK(quick.rows.back().runs.back().back().low_x_m ==
          again.rows.back().runs.back().back().low_x_m);
  }
}

namespace {

double median_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<long>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// Waste in percent, over three bounds.
struct Waste {
  std::vector<double> over_area;    // the floor's area within its gaps
  std::vector<double> over_panels;  // whole panels of that area
  std::vector<double> over_room;    // whole panels of the room's area from wall to wall
  void add(int panels, double panel_area, double floor_area, double room_area) {
    over_area.push_back((panels * panel_area / floor_area - 1.0) * 100.0);
    over_panels.push_back((panels / std::ceil(floor_area / panel_area) - 1.0) * 100.0);
    over_room.push_back((panels / std::ceil(room_area / panel_area) - 1.0) * 100.0);
  }
  [[nodiscard]] std::string text() const {
    return std::to_string(median_of(over_area)) + " % over the floor's area, " +
           std::to_string(median_of(over_panels)) + " % over whole panels of it, " +
           std::to_string(median_of(over_room)) + " % over whole panels of the room's area";
  }
};

struct Campaign {
  const char* name;
  std::uint32_t seed;
  int rooms;
  bool usual;
};

// Validates every room of it, and prints what was measured.
Waste run_campaign(const Campaign& campaign) {
  INFO(campaign.name << ", seed " << campaign.seed);
  plan_tests::RandomRooms rooms(campaign.seed);
  Waste waste;
  Waste simple_waste;
  int with_breaks = 0;
  int not_balanced = 0;
  int simple_broken = 0;
  for (int i = 0; i < campaign.rooms; ++i) {
    INFO("room " << i);
    Region room = campaign.usual ? rooms.next_usual() : rooms.next();
    const PanelSize panel = campaign.usual ? rooms.usual_panel()
                                           : PanelSize{Metres{rooms.between(0.9, 1.6)},
                                                       Metres{rooms.between(0.13, 0.25)}};
    const auto region = inset(region_from(room).value(), Metres{0.010});
    REQUIRE(region);
    const LayoutRequest request = request_for(region.value(), panel);
    const auto layout = row_layout_from(request);
    REQUIRE(layout);
    CHECK(Validator(request, layout.value()).faults() == std::vector<std::string>{});
    const SimpleRule simple = by_simple_rule(request);
    simple_broken += simple.keeps_offsets ? 0 : 1;
    if (simple.keeps_offsets) {
      CHECK(layout.value().panels <= simple.panels);
    }
    with_breaks += layout.value().breaks.empty() ? 0 : 1;
    not_balanced += layout.value().saved_by_widths > 0 ? 1 : 0;
    const double panel_area = panel.length.value() * panel.width.value();
    const double area = area_of(region.value()).value();
    const double room_area = area_of(room).value();
    waste.add(layout.value().panels, panel_area, area, room_area);
    simple_waste.add(simple.panels, panel_area, area, room_area);
  }
  std::cout << campaign.name << ", " << campaign.rooms << " rooms, seed " << campaign.seed
            << ": median waste " << waste.text() << "\n  by the simple rule " << simple_waste.text()
            << "\n  rooms that break a rule " << with_breaks << ", by the simple rule "
            << simple_broken << "; rooms with unlike first and last rows " << not_balanced << "\n";
  return waste;
}

}  // namespace

TEST_CASE("Rooms as people live in: every rule kept, little waste, no more than the simple rule") {
  const Waste waste = run_campaign({"usual rooms", 20260301, 1000, true});
  CHECK(median_of(waste.over_room) <= 3.0);
  CHECK(median_of(waste.over_panels) <= 3.5);
}

TEST_CASE("Odd rooms and panels: every rule kept, no more panels than by the simple rule") {
  // Sides 1.5..12 m by 1.5..9 m, panels 0.9..1.6 m by 0.13..0.25 m, arms down to 0.4 m.
  const Waste waste = run_campaign({"odd rooms", 20260302, 300, false});
  CHECK(median_of(waste.over_area) <= 6.0);
}
