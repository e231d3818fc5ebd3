// Times the rows of rooms of 20, 50, 100 and 200 m2 against the simple rule in the same run, with
// the waste of both; then the median waste of 1000 random rooms at both efforts.
//   cmake -S . -B build/bench -G Ninja -DDWELLOG_BENCHMARKS=ON -DCMAKE_BUILD_TYPE=Release
//   ninja -C build/bench bench_row_layout && build/bench/tests/benchmarks/bench_row_layout [ROOMS]
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include "analysis/plan/layout/first_guess.hpp"
#include "analysis/plan/layout/row_layout.hpp"
#include "analysis/plan/layout/row_widths.hpp"
#include "analysis/plan/layout/run_starts.hpp"
#include "tests/benchmarks/bench_folder.hpp"
#include "tests/plan/random_rooms.hpp"

namespace {

using namespace analysis::plan;
using benchmarks::Stopwatch;

constexpr int kRounds = 5;

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

LayoutRequest request_for(const Region& room, PanelSize panel, LayoutEffort effort) {
  const Region floor = inset(room, Metres{0.010}).value();
  return {floor, bounds_of(floor.outer), panel, {}, effort};
}

double waste_percent(const LayoutRequest& request, int panels) {
  const double panel = request.panel.length.value() * request.panel.width.value();
  return (panels * panel / area_of(request.region).value() - 1.0) * 100.0;
}

int panels_by_simple_rule(const LayoutRequest& request) {
  const RunRules rules{request.panel.length.value(), request.rules.least_piece.value(),
                       request.rules.least_offset.value(), request.rules.saw_cut.value()};
  const auto runs =
      runs_of_rows(request, balanced_widths_m(request.field.high_y_m - request.field.low_y_m,
                                              request.panel.width.value()));
  return panels_in_order(runs, starts_by_simple_rule(runs, rules), rules);
}

void time_rooms() {
  for (const double area : {20.0, 50.0, 100.0, 200.0}) {
    // An L: four fifths of a rectangle of 4 by 3.
    const double w = std::sqrt(area / 0.8 * 4.0 / 3.0);
    const double h = w * 0.75;
    const Region room =
        region_from({{{0, 0}, {w, 0}, {w, 0.6 * h}, {0.5 * w, 0.6 * h}, {0.5 * w, h}, {0, h}}, {}})
            .value();
    for (const LayoutEffort effort : {LayoutEffort::quick, LayoutEffort::thorough}) {
      const LayoutRequest request = request_for(room, {Metres{1.29}, Metres{0.19}}, effort);
      std::vector<double> solver;
      std::vector<double> simple;
      int panels = 0;
      int simple_panels = 0;
      for (int round = 0; round < kRounds; ++round) {
        const Stopwatch watch;
        panels = row_layout_from(request).value().panels;
        solver.push_back(watch.seconds());
        const Stopwatch simple_watch;
        simple_panels = panels_by_simple_rule(request);
        simple.push_back(simple_watch.seconds());
      }
      std::printf(
          "%3.0f m2, %s: %.1f ms = %.0f times the simple rule; waste %.1f %%, by it %.1f %%\n",
          area, effort == LayoutEffort::quick ? "quick   " : "thorough", median(solver) * 1e3,
          median(solver) / median(simple), waste_percent(request, panels),
          waste_percent(request, simple_panels));
    }
  }
}

void weigh_rooms(int rooms, LayoutEffort effort) {
  plan_tests::RandomRooms random(20260301);
  std::vector<double> over_floor;
  std::vector<double> over_panels;
  std::vector<double> over_room;
  for (int i = 0; i < rooms; ++i) {
    const Region room = region_from(random.next_usual()).value();
    const LayoutRequest request = request_for(room, random.usual_panel(), effort);
    const int panels = row_layout_from(request).value().panels;
    const double panel = request.panel.length.value() * request.panel.width.value();
    over_floor.push_back(waste_percent(request, panels));
    const auto over = [&](const Region& region) {
      return (panels / std::ceil(area_of(region).value() / panel) - 1.0) * 100.0;
    };
    over_panels.push_back(over(request.region));
    over_room.push_back(over(room));
  }
  std::printf(
      "%d rooms, %s: median waste %.2f %% over the floor's area, %.2f %% over whole panels "
      "of it, %.2f %% over whole panels of the room's area\n",
      rooms, effort == LayoutEffort::quick ? "quick" : "thorough", median(over_floor),
      median(over_panels), median(over_room));
}

}  // namespace

int main(int argc, char** argv) {
  const int rooms = argc > 1 ? std::atoi(argv[1]) : 1000;
  time_rooms();
  weigh_rooms(rooms, LayoutEffort::quick);
  weigh_rooms(rooms, LayoutEffort::thorough);
  return 0;
}
