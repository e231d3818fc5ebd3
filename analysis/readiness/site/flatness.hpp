// Whether a subfloor is flat enough: the largest gap under a straightedge out of a grid of heights
// or of readings along lines, against a limit. A floor that slopes but is flat passes. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/site/straightedge.hpp"

namespace analysis::readiness {

// Heights above any plane, row by row; nullopt = not measured, and no straightedge lies across it.
struct HeightGrid {
  std::size_t columns = 0;
  std::vector<std::optional<double>> heights_mm;  // columns times rows
  double along_m = 0.0;                           // from one height of a row to the next
  double between_m = 0.0;                         // from one row to the next
  [[nodiscard]] std::size_t rows() const { return columns == 0 ? 0 : heights_mm.size() / columns; }
};

// The largest grid that is taken.
inline constexpr std::size_t kMostHeights = 10'000;

struct FlatnessReadings {
  std::optional<HeightGrid> grid;
  // Each along a line of its own, heights counted from a string or straightedge above: minus the
  // gap that was read.
  std::vector<std::vector<ProfilePoint>> lines;
  double reading_mm = 0.5;  // standard uncertainty of one reading; our assumption
};

enum class FlatnessDirection : std::uint8_t { along_row, across_rows, diagonal, line };
[[nodiscard]] std::string_view name_of(FlatnessDirection direction);

struct FlatnessPlace {
  FlatnessDirection direction = FlatnessDirection::along_row;
  std::size_t row = 0;     // of the grid, or of the lines
  std::size_t column = 0;  // of the grid, or of the line's points
  double x_m = 0.0;        // along the row, or along the line
  double y_m = 0.0;        // across the rows; 0 on a line
  bool operator==(const FlatnessPlace&) const = default;
};

// A direction of the grid whose heights lie too far apart for three under the straightedge.
struct UnseenDirection {
  FlatnessDirection direction = FlatnessDirection::along_row;
  double apart_m = 0.0;
  bool operator==(const UnseenDirection&) const = default;
};

struct FlatnessSpot {
  FlatnessPlace place;
  // Low spot: the gap. High spot: how far it stands above the plane of the heights round it, as far
  // as a straightedge reaches.
  double mm = 0.0;
};

// Each height of a grid stands for one spacing by one spacing of floor.
struct FillerVolumes {
  // The least that brings every gap within the limit when nothing is ground.
  double within_limit_l = 0.0;
  // The same after the high spots were ground down to the plane of what lies round them.
  double within_limit_after_grinding_l = 0.0;
  // Up to the plane that touches the highest points and lies nowhere below the floor, the one
  // nearest to the floor.
  double to_high_plane_l = 0.0;
};

struct FlatnessResult {
  bool met = false;
  double worst_mm = 0.0;
  double expanded_uncertainty_mm = 0.0;  // of that gap, k = 2, by the uncertainty of a reading
  FlatnessPlace worst_at;
  std::size_t readings = 0;
  std::size_t beyond = 0;               // places with a gap above the limit
  std::vector<FlatnessSpot> low;        // to be filled, deepest first
  std::vector<FlatnessSpot> high;       // to be ground, highest first; grids only
  std::optional<FillerVolumes> filler;  // grids only
  std::vector<double> gaps_mm;          // of the grid, as its heights; 0 where none was measured
  double seen_m = 0.0;  // longest stretch of the straightedge that the readings span
  std::vector<UnseenDirection> unseen;  // of the grid
};

// How an error writes a length.
using LengthText = std::string (*)(base::Metres);
[[nodiscard]] std::string centimetres_text(base::Metres length);  // "25 cm"

// Error: one line, what of the readings can't be used and what was expected: spacings that are no
// positive length, readings farther apart than half the straightedge in every direction of the
// grid or anywhere along a line, fewer than three in a row, more than kMostHeights.
[[nodiscard]] base::Result<FlatnessResult, std::string> flatness_from(
    const FlatnessReadings& readings, const FlatnessLimit& limit,
    LengthText length_text = centimetres_text);

}  // namespace analysis::readiness
