#include "analysis/readiness/site/grid_lines.hpp"

#include <cmath>

namespace analysis::readiness {
namespace {

struct Step {
  FlatnessDirection direction;
  int columns;
  int rows;
};
constexpr Step kSteps[] = {{FlatnessDirection::along_row, 1, 0},
                           {FlatnessDirection::across_rows, 0, 1},
                           {FlatnessDirection::diagonal, 1, 1},
                           {FlatnessDirection::diagonal, -1, 1}};
constexpr double kHalf = 0.5 * (1.0 + 1e-9);

class LineFinder {
 public:
  LineFinder(const HeightGrid& grid, const Step& step)
      : grid_(grid), step_(step), step_m_(step_of(grid, step.direction).value()) {}

  void add_lines(std::vector<GridLine>& lines) const {
    for (std::size_t cell = 0; cell < grid_.heights_mm.size(); ++cell) {
      if (measured(cell) && !before(cell)) {
        GridLine line = line_from(cell);
        if (line.cells.size() > 2) {
          lines.push_back(std::move(line));
        }
      }
    }
  }

 private:
  [[nodiscard]] bool measured(std::size_t cell) const { return grid_.heights_mm[cell].has_value(); }
  // The measured cell `steps` along; nullopt outside the grid and at a hole.
  [[nodiscard]] std::optional<std::size_t> moved(std::size_t cell, int steps) const {
    const auto columns = static_cast<long>(grid_.columns);
    const long column = static_cast<long>(cell % grid_.columns) + steps * step_.columns;
    const long row = static_cast<long>(cell / grid_.columns) + steps * step_.rows;
    if (column < 0 || column >= columns || row < 0 || row >= static_cast<long>(grid_.rows())) {
      return std::nullopt;
    }
    const auto place = static_cast<std::size_t>(row * columns + column);
    return measured(place) ? std::optional(place) : std::nullopt;
  }
  [[nodiscard]] bool before(std::size_t cell) const { return moved(cell, -1).has_value(); }
  [[nodiscard]] GridLine line_from(std::size_t first) const {
    GridLine line{step_.direction, {}, {}};
    for (std::optional<std::size_t> cell = first; cell; cell = moved(*cell, 1)) {
      line.profile.push_back(
          {static_cast<double>(line.cells.size()) * step_m_, *grid_.heights_mm[*cell]});
      line.cells.push_back(*cell);
    }
    return line;
  }

  const HeightGrid& grid_;
  Step step_;
  double step_m_;
};

}  // namespace

base::Metres step_of(const HeightGrid& grid, FlatnessDirection direction) {
  switch (direction) {
    case FlatnessDirection::along_row:
      return base::Metres{grid.along_m};
    case FlatnessDirection::across_rows:
      return base::Metres{grid.between_m};
    default:
      return base::Metres{std::hypot(grid.along_m, grid.between_m)};
  }
}

std::vector<GridLine> lines_of(const HeightGrid& grid, base::Metres straightedge) {
  std::vector<GridLine> lines;
  for (const Step& step : kSteps) {
    if (step_of(grid, step.direction).value() <= straightedge.value() * kHalf) {
      LineFinder(grid, step).add_lines(lines);
    }
  }
  return lines;
}

}  // namespace analysis::readiness
