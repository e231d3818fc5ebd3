// Rows of panels: an independent validator, the simple rule of the trade as a peer, and the bound
// that the area sets, over random rooms. Rules and sizes: common practice, no source.
#include "analysis/plan/layout/row_layout.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <iostream>
#include <map>

#include "tests/plan/random_rooms.hpp"

using namespace analysis::plan;

namespace {

constexpr double kClose = 1e-6;

LayoutRequest request_for(const Region& region, PanelSize panel) {
  return {region, bounds_of(region.outer), panel, {}};
}

// What is wrong with a layout, by its own reckoning: points of the floor that no piece covers,
// pieces off the floor, panels cut to more than they hold, rules.
std::vector<std::string> faults_of(const LayoutRequest& request, const RowLayout& layout) {
  std::vector<std::string> faults;
  std::map<int, double> cut;
  std::map<int, int> cuts;
  const double length = request.panel.length.value();
  double low = request.field.low_y_m;
  const std::vector<Piece>* before = nullptr;
  std::vector<double> joints_before;
  for (const Row& row : layout.rows) {
    if (std::abs(row.low_y_m - low) > kClose ||
        row.high_y_m - row.low_y_m > request.panel.width.value() + kClose) {
      faults.push_back("a row does not follow the one before, or is wider than a panel");
    }
    low = row.high_y_m;
    std::vector<double> joints;
    for (const auto& run : row.runs) {
      for (std::size_t i = 0; i < run.size(); ++i) {
        const Piece& piece = run[i];
        cut[piece.panel] += piece.length_m();
        cuts[piece.panel] += 1;
        if (piece.length_m() > length + kClose) {
          faults.push_back("a piece is longer than a panel");
        }
        if (run.size() > 1 && piece.length_m() < request.rules.least_piece.value() - kClose) {
          faults.push_back("a piece is too short");
        }
        if (i > 0) {
          joints.push_back(piece.low_x_m);
          if (std::abs(piece.low_x_m - run[i - 1].high_x_m) > kClose) {
            faults.push_back("pieces do not meet");
          }
        }
      }
    }
    if (before == nullptr && layout.exceptions.empty()) {
      for (const double joint : joints) {
        for (const double other : joints_before) {
          if (std::abs(joint - other) < request.rules.least_offset.value() - kClose) {
            faults.push_back("end joints " + std::to_string(std::abs(joint - other)) + " m apart");
          }
        }
      }
    }
    joints_before = joints;
  }
  if (std::abs(low - request.field.high_y_m) > kClose) {
    faults.push_back("the rows do not fill the floor");
  }
  for (const auto& [panel, used] : cut) {
    if (panel < 1 || panel > layout.panels ||
        used + (cuts[panel] - 1) * request.rules.saw_cut.value() > length + kClose) {
      faults.push_back("panel " + std::to_string(panel) + " is cut to " + std::to_string(used));
    }
  }
  if (static_cast<int>(cut.size()) != layout.panels) {
    faults.push_back("panels are counted that nothing is cut from");
  }
  // A grid of points: each one on the floor lies under exactly one piece.
  const Bounds& field = request.field;
  for (double y = field.low_y_m + 0.013; y < field.high_y_m; y += 0.11) {
    const auto row = std::find_if(layout.rows.begin(), layout.rows.end(), [&](const Row& each) {
      return y >= each.low_y_m && y < each.high_y_m;
    });
    for (double x = field.low_x_m + 0.017; x < field.high_x_m; x += 0.13) {
      int covered = 0;
      if (row != layout.rows.end()) {
        for (const auto& run : row->runs) {
          covered +=
              static_cast<int>(std::count_if(run.begin(), run.end(), [&](const Piece& piece) {
                return x >= piece.low_x_m && x < piece.high_x_m;
              }));
        }
      }
      if (covered > 1 || (covered == 0 && contains(request.region, {x, y}))) {
        faults.push_back("the point " + std::to_string(x) + " " + std::to_string(y) +
                         " is covered " + std::to_string(covered) + " times");
      }
    }
  }
  return faults;
}

// The simple rule, written apart from the solver: begin each run with what the row before left over
// where the rules allow it, else with a whole panel, else with the longest piece in steps of 1 cm
// that they allow; what is cut off at the end begins the next run or is thrown away.
int panels_by_simple_rule(const LayoutRequest& request) {
  const double length = request.panel.length.value();
  const LayoutRules& rules = request.rules;
  int panels = 0;
  double left = 0.0;
  std::vector<double> before;
  double low = request.field.low_y_m;
  for (const double width :
       row_widths_m(request.field.high_y_m - request.field.low_y_m, request.panel.width.value())) {
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
  return panels;
}

}  // namespace

TEST_CASE("Rows share between first and last what does not come out even") {
  // 3.00 m by panels of 0.20 m: fifteen whole rows.
  CHECK(row_widths_m(3.0, 0.20).size() == 15);
  // 3.05 m: 15 x 0.20 leaves 0.05; 14 whole ones and two of (0.20 + 0.05) / 2 = 0.125 m.
  const auto widths = row_widths_m(3.05, 0.20);
  REQUIRE(widths.size() == 16);
  CHECK(widths.front() == Approx(0.125));
  CHECK(widths.back() == Approx(0.125));
  CHECK(widths[7] == Approx(0.20));
  CHECK(row_widths_m(0.12, 0.20) == std::vector<double>{0.12});
}

TEST_CASE("Random rooms: every rule is kept, and never more panels than by the simple rule") {
  constexpr std::uint32_t kSeed = 20260301;
  INFO("seed " << kSeed);
  plan_tests::RandomRooms rooms(kSeed);
  std::vector<double> over_bound;
  std::vector<double> simple_over_bound;
  int with_exceptions = 0;
  for (int i = 0; i < 1000; ++i) {
    Region room = rooms.next();
    const PanelSize panel{Metres{rooms.between(0.9, 1.6)}, Metres{rooms.between(0.13, 0.25)}};
    const auto region = inset(region_from(room).value(), Metres{0.010});
    REQUIRE(region);
    const LayoutRequest request = request_for(region.value(), panel);
    const auto layout = row_layout_from(request);
    REQUIRE(layout);
    INFO("room " << i);
    CHECK(faults_of(request, layout.value()) == std::vector<std::string>{});
    const int simple = panels_by_simple_rule(request);
    CHECK(layout.value().panels <= simple);
    with_exceptions += layout.value().exceptions.empty() ? 0 : 1;
    const double panel_area = panel.length.value() * panel.width.value();
    const double area = area_of(region.value()).value();
    over_bound.push_back(layout.value().panels * panel_area / area - 1.0);
    simple_over_bound.push_back(simple * panel_area / area - 1.0);
  }
  const auto median = [](std::vector<double> values) {
    std::nth_element(values.begin(), values.begin() + 500, values.end());
    return values[500] * 100.0;
  };
  std::cout << "waste over the area, median of 1000 rooms: " << median(over_bound)
            << " %, by the simple rule " << median(simple_over_bound) << " %; " << with_exceptions
            << " rooms with exceptions\n";
}
