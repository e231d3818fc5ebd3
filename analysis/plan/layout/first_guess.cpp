#include "analysis/plan/layout/first_guess.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace analysis::plan {
namespace {

constexpr std::size_t kPhases = 100;
constexpr double kCentimetre = 0.01;

// Whole first, else whole last: with panels of two least pieces one of them is allowed.
double some_allowed_start(const PanelRun& run, const RunRules& rules) {
  return is_allowed_start(run, rules.panel_m, rules)
             ? rules.panel_m
             : wrapped_start(run.length_m() - rules.least_piece_m, rules);
}

// What a run leaves for the next one when that has `left` from the run before.
double left_by(const PanelRun& run, double start, double left, const RunRules& rules) {
  if (is_one_piece(run, rules) && left >= run.length_m()) {
    return 0.0;
  }
  const RunPieces pieces = pieces_from_start(run, rules, start);
  const double last = is_one_piece(run, rules) ? pieces.start_m : pieces.end_m;
  const double rest = rules.panel_m - last - rules.saw_cut_m;
  return rest < rules.least_piece_m ? 0.0 : rest;
}

}  // namespace

std::vector<double> starts_by_phases(const std::vector<PanelRun>& runs, const RunRules& rules) {
  const std::size_t rows = runs.back().row + 1;
  const auto start_of = [&](const PanelRun& run, int phase) {
    return wrapped_start(phase * rules.panel_m / kPhases - run.low_x_m, rules);
  };
  std::vector<std::array<double, kPhases>> broken(rows);
  for (const PanelRun& run : runs) {
    for (int phase = 0; phase < static_cast<int>(kPhases) && !is_one_piece(run, rules); ++phase) {
      broken[run.row][static_cast<std::size_t>(phase)] +=
          is_allowed_start(run, start_of(run, phase), rules) ? 0.0 : 1.0;
    }
  }
  std::array<double, kPhases> too_near{};  // by how far apart two phases are
  for (std::size_t apart = 0; apart < kPhases; ++apart) {
    const double steps = static_cast<double>(std::min(apart, kPhases - apart));
    const double distance = steps * rules.panel_m / kPhases;
    too_near[apart] = distance >= rules.least_offset_m - kSameLength
                          ? 0.0
                          : 2.0 - distance / rules.least_offset_m;
  }
  std::vector<std::array<std::size_t, kPhases>> before(rows);
  for (std::size_t row = 1; row < rows; ++row) {
    for (std::size_t phase = 0; phase < kPhases; ++phase) {
      double least = std::numeric_limits<double>::infinity();
      for (std::size_t other = 0; other < kPhases; ++other) {
        const double sum =
            broken[row - 1][other] + too_near[phase > other ? phase - other : other - phase];
        if (sum < least) {
          least = sum;
          before[row][phase] = other;
        }
      }
      broken[row][phase] += least;
    }
  }
  std::vector<std::size_t> phases(rows);
  phases.back() = static_cast<std::size_t>(
      std::min_element(broken.back().begin(), broken.back().end()) - broken.back().begin());
  for (std::size_t row = rows; row-- > 1;) {
    phases[row - 1] = before[row][phases[row]];
  }
  std::vector<double> starts;
  for (const PanelRun& run : runs) {
    const double start = start_of(run, static_cast<int>(phases[run.row]));
    starts.push_back(is_one_piece(run, rules)              ? run.length_m()
                     : is_allowed_start(run, start, rules) ? start
                                                           : some_allowed_start(run, rules));
  }
  return starts;
}

std::vector<double> starts_by_simple_rule(const std::vector<PanelRun>& runs,
                                          const RunRules& rules) {
  std::vector<double> starts;
  double left = 0.0;  // by the run before
  for (std::size_t i = 0; i < runs.size(); ++i) {
    const PanelRun& run = runs[i];
    if (is_one_piece(run, rules)) {
      starts.push_back(run.length_m());
      left = left_by(run, run.length_m(), left, rules);
      continue;
    }
    // How far the joints are from those of the row before; negative where a piece is too short.
    const auto room_of = [&](double start) {
      if (!is_allowed_start(run, start, rules)) {
        return -1.0;
      }
      double nearest = rules.panel_m;
      for (std::size_t j = i; j-- > 0 && runs[j].row + 1 >= run.row;) {
        if (runs[j].row + 1 == run.row) {
          nearest = std::min(nearest, joint_distance_m(run, start, runs[j], starts[j], rules));
        }
      }
      return nearest;
    };
    double start = left;
    double room = room_of(start);
    if (room < rules.least_offset_m - kSameLength) {
      start = some_allowed_start(run, rules);
      room = -1.0;
      for (double length = rules.panel_m; length > 0.0 && room < rules.least_offset_m - kSameLength;
           length -= kCentimetre) {
        if (room_of(length) > room + kSameLength) {
          start = length;
          room = room_of(length);
        }
      }
    }
    starts.push_back(start);
    left = left_by(run, start, left, rules);
  }
  return starts;
}

int panels_in_order(const std::vector<PanelRun>& runs, const std::vector<double>& starts_m,
                    const RunRules& rules) {
  int panels = 0;
  double left = 0.0;
  for (std::size_t i = 0; i < runs.size(); ++i) {
    const RunPieces pieces = pieces_from_start(runs[i], rules, starts_m[i]);
    const bool one = is_one_piece(runs[i], rules);
    const bool uses_rest =
        one ? left >= pieces.start_m : std::abs(left - pieces.start_m) <= kSameLength;
    panels += (uses_rest ? 0 : 1) + pieces.whole + (one ? 0 : 1);
    left = left_by(runs[i], starts_m[i], left, rules);
  }
  return panels;
}

}  // namespace analysis::plan
