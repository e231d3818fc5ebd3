#include "analysis/readiness/site/floor_filling.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include "analysis/base/golden_section.hpp"

namespace analysis::readiness {
namespace {

constexpr double kEnoughMm = 1e-4;
constexpr int kSections = 70;     // as far as double goes
constexpr int kMostRounds = 500;  // each takes a share of what is left; a few dozen are usual

// Raises the points of one line to the limit below its straightedges; says by how much at most.
double raise_line(GridLine& line, std::vector<double>& fill, const FlatnessLimit& limit) {
  for (std::size_t i = 0; i < line.cells.size(); ++i) {
    line.profile[i].height_mm += fill[line.cells[i]];
  }
  const auto gaps = gaps_under_straightedge(line.profile, base::Metres{limit.straightedge_m});
  double most = 0.0;
  for (std::size_t i = 0; i < line.cells.size(); ++i) {
    line.profile[i].height_mm -= fill[line.cells[i]];
  }
  for (std::size_t i = 0; i < line.cells.size(); ++i) {
    const double missing = gaps[i].gap_mm - limit.within_mm;
    if (missing > 0.0) {
      fill[line.cells[i]] += missing;
      most = std::max(most, missing);
    }
  }
  return most;
}

struct Sample {
  double x = 0.0;
  double y = 0.0;
  double z = 0.0;
};

std::vector<Sample> samples_of(const HeightGrid& grid) {
  std::vector<Sample> samples;
  for (std::size_t cell = 0; cell < grid.heights_mm.size(); ++cell) {
    if (grid.heights_mm[cell]) {
      samples.push_back({static_cast<double>(cell % grid.columns) * grid.along_m,
                         static_cast<double>(cell / grid.columns) * grid.between_m,
                         *grid.heights_mm[cell]});
    }
  }
  return samples;
}

Sample mean_of(const std::vector<Sample>& samples) {
  Sample sum;
  for (const Sample& sample : samples) {
    sum.x += sample.x;
    sum.y += sample.y;
    sum.z += sample.z;
  }
  const auto count = static_cast<double>(samples.size());
  return {sum.x / count, sum.y / count, sum.z / count};
}

// The heights within reach of a cell but for itself; their places counted from it.
std::vector<Sample> samples_round(const HeightGrid& grid, std::size_t cell, base::Metres within) {
  const double reach = within.value() * (1.0 + 1e-9);
  const auto columns = static_cast<long>(grid.columns);
  const auto rows = static_cast<long>(grid.rows());
  const long column = static_cast<long>(cell) % columns;
  const long row = static_cast<long>(cell) / columns;
  const auto wide = static_cast<long>(reach / grid.along_m);
  const auto deep = static_cast<long>(reach / grid.between_m);
  std::vector<Sample> round;
  for (long r = std::max(0L, row - deep); r <= std::min(rows - 1, row + deep); ++r) {
    for (long c = std::max(0L, column - wide); c <= std::min(columns - 1, column + wide); ++c) {
      const double x = static_cast<double>(c - column) * grid.along_m;
      const double y = static_cast<double>(r - row) * grid.between_m;
      const auto& height = grid.heights_mm[static_cast<std::size_t>(r * columns + c)];
      if (height && (r != row || c != column) && std::hypot(x, y) <= reach) {
        round.push_back({x, y, *height});
      }
    }
  }
  return round;
}

}  // namespace

std::vector<double> least_fill_mm(const HeightGrid& grid, const std::vector<GridLine>& lines,
                                  const FlatnessLimit& limit) {
  std::vector<double> fill(grid.heights_mm.size(), 0.0);
  std::vector<GridLine> raised = lines;
  for (int round = 0; round < kMostRounds; ++round) {
    double most = 0.0;
    for (GridLine& line : raised) {
      most = std::max(most, raise_line(line, fill, limit));
    }
    if (most < kEnoughMm) {
      break;
    }
  }
  return fill;
}

std::vector<double> fill_to_high_plane_mm(const HeightGrid& grid) {
  const std::vector<Sample> samples = samples_of(grid);
  std::vector<double> fill(grid.heights_mm.size(), 0.0);
  if (samples.empty()) {
    return fill;
  }
  const Sample mean = mean_of(samples);
  // Of all planes of a slope, the one that touches from above; its height over the mean place is
  // its mean distance and a convex function of the slope.
  const auto height = [&](double slope_x, double slope_y) {
    double top = samples.front().z - slope_x * (samples.front().x - mean.x) -
                 slope_y * (samples.front().y - mean.y);
    for (const Sample& s : samples) {
      top = std::max(top, s.z - slope_x * (s.x - mean.x) - slope_y * (s.y - mean.y));
    }
    return top;
  };
  const auto [low, high] = std::minmax_element(
      samples.begin(), samples.end(), [](const Sample& a, const Sample& b) { return a.z < b.z; });
  // No steeper than the whole range of heights over one spacing.
  const double steepest = (high->z - low->z) / std::min(grid.along_m, grid.between_m) + 1e-9;
  const auto best_y = [&](double slope_x) {
    return base::lowest_of(-steepest, steepest, kSections,
                           [&](double slope_y) { return height(slope_x, slope_y); });
  };
  const double slope_x = base::lowest_of(-steepest, steepest, kSections, [&](double slope) {
                           return best_y(slope).first;
                         }).second;
  const auto [top, slope_y] = best_y(slope_x);
  for (std::size_t cell = 0; cell < fill.size(); ++cell) {
    if (grid.heights_mm[cell]) {
      const double x = static_cast<double>(cell % grid.columns) * grid.along_m;
      const double y = static_cast<double>(cell / grid.columns) * grid.between_m;
      fill[cell] = std::max(
          0.0, top + slope_x * (x - mean.x) + slope_y * (y - mean.y) - *grid.heights_mm[cell]);
    }
  }
  return fill;
}

std::optional<double> rise_above_surroundings_mm(const HeightGrid& grid, std::size_t cell,
                                                 base::Metres reach) {
  const std::vector<Sample> round = samples_round(grid, cell, reach);
  if (round.size() < 3) {
    return std::nullopt;
  }
  const Sample mean = mean_of(round);
  double xx = 0.0, xy = 0.0, yy = 0.0, xz = 0.0, yz = 0.0;
  for (const Sample& s : round) {
    xx += (s.x - mean.x) * (s.x - mean.x);
    xy += (s.x - mean.x) * (s.y - mean.y);
    yy += (s.y - mean.y) * (s.y - mean.y);
    xz += (s.x - mean.x) * (s.z - mean.z);
    yz += (s.y - mean.y) * (s.z - mean.z);
  }
  const double determinant = xx * yy - xy * xy;
  if (determinant <= 1e-9 * xx * yy || xx == 0.0 || yy == 0.0) {
    return std::nullopt;  // all on one line
  }
  const double slope_x = (xz * yy - yz * xy) / determinant;
  const double slope_y = (yz * xx - xz * xy) / determinant;
  // The samples' places count from the cell.
  return *grid.heights_mm[cell] - (mean.z - slope_x * mean.x - slope_y * mean.y);
}

double litres_of(const std::vector<double>& fill_mm, const HeightGrid& grid) {
  // One millimetre over one square metre is one litre.
  return std::accumulate(fill_mm.begin(), fill_mm.end(), 0.0) * grid.along_m * grid.between_m;
}

}  // namespace analysis::readiness
