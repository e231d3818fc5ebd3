#include "analysis/readiness/site/flatness.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "analysis/readiness/reason_texts.hpp"
#include "analysis/readiness/site/floor_filling.hpp"
#include "analysis/readiness/site/grid_lines.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"

namespace analysis::readiness {
namespace {

using base::Failure;
using base::Result;

constexpr double kJustWithin = 1e-9;  // mm; a gap of 3 mm that is 3.0000000001 in binary

// Of a straightedge's height at a point out of two readings, less a third one: independent errors
// of the same size. Source: ISO/IEC Guide 98-3 (2008), 5.1.2, equation 10.
double expanded_uncertainty_mm(const StraightedgeGap& gap, double reading_mm) {
  const double left = gap.left_share;
  return kCoverageFactor * reading_mm * std::sqrt(left * left + (1.0 - left) * (1.0 - left) + 1.0);
}

// Gathers the gaps of grid and lines.
class Assessment {
 public:
  Assessment(const FlatnessReadings& readings, const FlatnessLimit& limit, LengthText length_text)
      : readings_(readings), limit_(limit), length_text_(length_text) {}

  Result<FlatnessResult, std::string> result() {
    for (std::size_t i = 0; i < readings_.lines.size(); ++i) {
      if (auto fault = line_fault(i)) {
        return Failure{*fault};
      }
      add_line(i);
    }
    if (readings_.grid) {
      if (auto fault = grid_fault(*readings_.grid)) {
        return Failure{*fault};
      }
      add_grid(*readings_.grid);
    }
    if (result_.readings == 0) {
      return Failure{std::string("no readings; expected a grid of heights or a line of gaps")};
    }
    result_.met = result_.beyond == 0;
    const auto worst_first = [](const FlatnessSpot& a, const FlatnessSpot& b) {
      return a.mm > b.mm;
    };
    std::stable_sort(result_.low.begin(), result_.low.end(), worst_first);
    std::stable_sort(result_.high.begin(), result_.high.end(), worst_first);
    return result_;
  }

 private:
  [[nodiscard]] std::string shown(double metres) const {
    return length_text_(base::Metres{metres});
  }
  [[nodiscard]] base::Metres straightedge() const { return base::Metres{limit_.straightedge_m}; }
  [[nodiscard]] double half() const { return limit_.straightedge_m / 2.0 * (1.0 + kJustWithin); }
  [[nodiscard]] bool is_beyond(double gap_mm) const {
    return gap_mm > limit_.within_mm + kJustWithin;
  }

  void take(const StraightedgeGap& gap, const FlatnessPlace& place) {
    if (gap.gap_mm > result_.worst_mm || result_.expanded_uncertainty_mm == 0.0) {
      result_.worst_mm = gap.gap_mm;
      result_.worst_at = place;
      result_.expanded_uncertainty_mm = expanded_uncertainty_mm(gap, readings_.reading_mm);
    }
  }

  [[nodiscard]] std::optional<std::string> line_fault(std::size_t index) const {
    const auto& line = readings_.lines[index];
    const std::string name = "line " + std::to_string(index + 1) + ": ";
    if (line.size() < 3) {
      return name + std::to_string(line.size()) +
             " readings; expected three or more, those where the straightedge rests too";
    }
    for (std::size_t i = 1; i < line.size(); ++i) {
      const double apart = line[i].at_m - line[i - 1].at_m;
      if (!(apart > 0.0)) {
        return name + "the readings don't go forward at " + shown(line[i].at_m) +
               "; expected each one farther along";
      }
      if (apart > half()) {
        return name + "two readings lie " + shown(apart) + " apart; a straightedge of " +
               shown(limit_.straightedge_m) + " needs " + shown(limit_.straightedge_m / 2.0) +
               " at most";
      }
    }
    return std::nullopt;
  }

  void add_line(std::size_t index) {
    const auto& line = readings_.lines[index];
    const auto gaps = gaps_under_straightedge(line, straightedge());
    result_.readings += line.size();
    result_.seen_m = std::max(result_.seen_m, span_seen(line, straightedge()).value());
    for (std::size_t i = 0; i < gaps.size(); ++i) {
      const FlatnessPlace place{FlatnessDirection::line, index, i, line[i].at_m, 0.0};
      take(gaps[i], place);
      if (is_beyond(gaps[i].gap_mm)) {
        ++result_.beyond;
        result_.low.push_back({place, gaps[i].gap_mm});
      }
    }
  }

  [[nodiscard]] std::optional<std::string> grid_fault(const HeightGrid& grid) const {
    const std::string size =
        std::to_string(grid.rows()) + " rows of " + std::to_string(grid.columns) + " heights";
    if (!(grid.along_m > 0.0 && grid.between_m > 0.0)) {
      return std::string("the spacing of the grid is no length above 0");
    }
    if (grid.heights_mm.size() > kMostHeights) {
      return size + "; expected " + std::to_string(kMostHeights) + " heights at most";
    }
    if (grid.along_m > half() && grid.between_m > half()) {
      return "heights lie " + shown(std::min(grid.along_m, grid.between_m)) +
             " apart; a straightedge of " + shown(limit_.straightedge_m) + " needs " +
             shown(limit_.straightedge_m / 2.0) + " at most";
    }
    if (lines_of(grid, straightedge()).empty()) {
      return size + ": no three in a line; a straightedge rests on two and a gap is below a third";
    }
    return std::nullopt;
  }

  [[nodiscard]] FlatnessPlace place_of(const HeightGrid& grid, std::size_t cell,
                                       FlatnessDirection direction) const {
    const std::size_t row = cell / grid.columns;
    const std::size_t column = cell % grid.columns;
    return {direction, row, column, static_cast<double>(column) * grid.along_m,
            static_cast<double>(row) * grid.between_m};
  }

  // The widest gap at a cell, and the cells on which the straightedge rests then.
  struct CellGap {
    StraightedgeGap gap;
    FlatnessDirection direction = FlatnessDirection::along_row;
  };

  void add_grid(const HeightGrid& grid) {
    const std::vector<GridLine> lines = lines_of(grid, straightedge());
    std::vector<CellGap> cells(grid.heights_mm.size());
    for (const GridLine& line : lines) {
      const auto gaps = gaps_under_straightedge(line.profile, straightedge());
      result_.seen_m = std::max(result_.seen_m, span_seen(line.profile, straightedge()).value());
      for (std::size_t i = 0; i < gaps.size(); ++i) {
        StraightedgeGap gap = gaps[i];
        gap.left = line.cells[gap.left];
        gap.right = line.cells[gap.right];
        take(gap, place_of(grid, line.cells[i], line.direction));
        if (gap.gap_mm > cells[line.cells[i]].gap.gap_mm) {
          cells[line.cells[i]] = {gap, line.direction};
        }
      }
    }
    result_.readings += static_cast<std::size_t>(
        std::ranges::count_if(grid.heights_mm, [](const auto& h) { return h.has_value(); }));
    for (const CellGap& cell : cells) {
      result_.gaps_mm.push_back(cell.gap.gap_mm);
    }
    sort_out(grid, cells);
    add_filler(grid, lines);
    for (const auto direction : {FlatnessDirection::along_row, FlatnessDirection::across_rows,
                                 FlatnessDirection::diagonal}) {
      if (step_of(grid, direction).value() > half()) {
        result_.unseen.push_back({direction, step_of(grid, direction).value()});
      }
    }
  }

  // A gap is put down to a high spot where the straightedge rests on something that stands out more
  // than the place below it lies deep; otherwise that place is low.
  void sort_out(const HeightGrid& grid, const std::vector<CellGap>& cells) {
    std::map<std::size_t, double> high;
    for (std::size_t cell = 0; cell < cells.size(); ++cell) {
      const StraightedgeGap& gap = cells[cell].gap;
      if (!is_beyond(gap.gap_mm)) {
        continue;
      }
      ++result_.beyond;
      const double left = rise(grid, gap.left);
      const double right = rise(grid, gap.right);
      if (std::max(left, right) > -rise(grid, cell)) {
        high[left > right ? gap.left : gap.right] = std::max(left, right);
      } else {
        result_.low.push_back({place_of(grid, cell, cells[cell].direction), gap.gap_mm});
      }
    }
    for (const auto& [cell, rise_mm] : high) {
      result_.high.push_back({place_of(grid, cell, FlatnessDirection::along_row), rise_mm});
    }
  }
  [[nodiscard]] double rise(const HeightGrid& grid, std::size_t cell) const {
    return rise_above_surroundings_mm(grid, cell, straightedge()).value_or(0.0);
  }

  void add_filler(const HeightGrid& grid, const std::vector<GridLine>& lines) {
    FillerVolumes filler;
    filler.within_limit_l = litres_of(least_fill_mm(grid, lines, limit_), grid);
    filler.within_limit_after_grinding_l = filler.within_limit_l;
    if (!result_.high.empty()) {
      HeightGrid ground = grid;
      for (const FlatnessSpot& spot : result_.high) {
        auto& height = ground.heights_mm[spot.place.row * grid.columns + spot.place.column];
        height = *height - spot.mm;
      }
      filler.within_limit_after_grinding_l =
          litres_of(least_fill_mm(ground, lines_of(ground, straightedge()), limit_), ground);
    }
    filler.to_high_plane_l = litres_of(fill_to_high_plane_mm(grid), grid);
    result_.filler = filler;
  }

  const FlatnessReadings& readings_;
  const FlatnessLimit& limit_;
  LengthText length_text_;
  FlatnessResult result_;
};

}  // namespace

std::string_view name_of(FlatnessDirection direction) {
  switch (direction) {
    case FlatnessDirection::along_row:
      return "along the rows";
    case FlatnessDirection::across_rows:
      return "across the rows";
    case FlatnessDirection::diagonal:
      return "along the diagonals";
    default:
      return "along the line";
  }
}

std::string centimetres_text(base::Metres length) {
  return text_from_number(length.value() * 100.0, 0) + " cm";
}

Result<FlatnessResult, std::string> flatness_from(const FlatnessReadings& readings,
                                                  const FlatnessLimit& limit,
                                                  LengthText length_text) {
  return Assessment(readings, limit, length_text).result();
}

}  // namespace analysis::readiness
