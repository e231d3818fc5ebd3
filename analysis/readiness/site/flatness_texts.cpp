#include "analysis/readiness/site/flatness_texts.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/readiness/reason_texts.hpp"

namespace analysis::readiness {
namespace {

constexpr std::size_t kCellWidth = 6;   // "  2.4v"
constexpr std::size_t kLabelWidth = 4;  // "  1 "
constexpr std::size_t kLineWidth = 80;
constexpr const char* kClose = "so close to the limit that better readings might say the opposite";

std::string mm_text(double mm) { return text_from_number(mm, 1) + " mm"; }
std::string litres_text(double litres) { return text_from_number(litres, 2) + " litres"; }

std::string worst_text(const FlatnessResult& result, const FlatnessLimit& limit) {
  return (result.worst_mm > 0.0 ? "Worst gap " + mm_text(result.worst_mm) : "No gap anywhere") +
         ", allowed " + text_as_entered(limit.within_mm) + " mm in " +
         text_as_entered(limit.straightedge_m) + " m (" + limit.source + ")";
}

bool is_close(const FlatnessResult& result, const FlatnessLimit& limit) {
  return std::abs(limit.within_mm - result.worst_mm) < result.expanded_uncertainty_mm;
}

std::string padded(const std::string& text, std::size_t width) {
  return std::string(width > text.size() ? width - text.size() : 0, ' ') + text;
}

// Rows and heights are counted from 1.
std::string text_of_place(const FlatnessPlace& place) {
  const std::string number = std::to_string(place.row + 1);
  const std::string along = text_from_number(place.x_m, 2) + " m along";
  if (place.direction == FlatnessDirection::line) {
    return "line " + number + ", " + along;
  }
  return "row " + number + ", height " + std::to_string(place.column + 1) + " (" + along + ", " +
         text_from_number(place.y_m, 2) + " m across)";
}

void add_spots(std::vector<std::string>& lines, const std::vector<FlatnessSpot>& spots,
               const std::string& verb, std::size_t most) {
  for (std::size_t i = 0; i < std::min(spots.size(), most); ++i) {
    lines.push_back(verb + mm_text(spots[i].mm) + " at " + text_of_place(spots[i].place));
  }
  if (spots.size() > most) {
    lines.push_back(verb + "and " + std::to_string(spots.size() - most) + " more");
  }
}

char mark_of(const FlatnessResult& result, std::size_t row, std::size_t column) {
  const auto here = [&](const FlatnessSpot& spot) {
    return spot.place.direction != FlatnessDirection::line && spot.place.row == row &&
           spot.place.column == column;
  };
  if (std::ranges::any_of(result.high, here)) {
    return '^';
  }
  return std::ranges::any_of(result.low, here) ? 'v' : ' ';
}

}  // namespace

std::string grounds_from(const FlatnessResult& result, const FlatnessLimit& limit) {
  std::string text = worst_text(result, limit);
  if (result.worst_mm > 0.0) {
    text += ", ±" + mm_text(result.expanded_uncertainty_mm) + " (k = 2), " +
            text_of_place(result.worst_at);
  }
  text += "; " + std::to_string(result.readings) + " readings";
  if (result.beyond > 0) {
    text += ", " + std::to_string(result.beyond) + " beyond";
  }
  if (is_close(result, limit)) {
    text += std::string(", ") + kClose;
  }
  for (const std::string& unseen : result.unseen) {
    text += "; not seen: " + unseen;
  }
  return text;
}

std::vector<std::string> lines_from(const FlatnessResult& result, const FlatnessLimit& limit,
                                    std::size_t spots) {
  std::vector<std::string> lines{std::string("flat: ") + (result.met ? "met" : "not met") + ". " +
                                 worst_text(result, limit)};
  if (result.worst_mm > 0.0) {
    lines.push_back("  " + std::string(name_of(result.worst_at.direction)) + ", " +
                    text_of_place(result.worst_at));
    lines.push_back("  reading uncertainty makes that gap uncertain by " +
                    mm_text(result.expanded_uncertainty_mm) + " (k = 2)");
  }
  if (is_close(result, limit)) {
    lines.push_back(std::string("  ") + kClose);
  }
  lines.push_back("  " + std::to_string(result.readings) + " readings, " +
                  std::to_string(result.beyond) + " with a gap beyond the limit");
  add_spots(lines, result.high, "  grind  ", spots);
  add_spots(lines, result.low, "  fill   ", spots);
  if (result.filler && !result.met) {
    const FillerVolumes& filler = *result.filler;
    lines.push_back("  filler " + litres_text(filler.within_limit_l) +
                    " to come within the limit, nothing ground");
    if (!result.high.empty()) {
      lines.push_back("  filler " + litres_text(filler.within_limit_after_grinding_l) +
                      " to come within it, the high spots ground first");
    }
    lines.push_back("  filler " + litres_text(filler.to_high_plane_l) +
                    " to the plane on the highest points: flat, not level, so a");
    lines.push_back("         compound that levels itself needs more where the floor slopes");
  }
  for (const std::string& unseen : result.unseen) {
    lines.push_back("  not seen: " + unseen);
  }
  return lines;
}

std::vector<std::string> map_lines_from(const FlatnessResult& result, const HeightGrid& grid) {
  if (kLabelWidth + grid.columns * kCellWidth > kLineWidth) {
    return {};
  }
  std::vector<std::string> lines{
      "largest gap at each height in mm; v fill, ^ grind, - not measured",
      std::string(kLabelWidth, ' ')};
  for (std::size_t column = 0; column < grid.columns; ++column) {
    lines.back() += padded(std::to_string(column + 1), kCellWidth - 1) + " ";
  }
  for (std::size_t row = 0; row < grid.rows(); ++row) {
    std::string line = padded(std::to_string(row + 1), kLabelWidth - 1) + " ";
    for (std::size_t column = 0; column < grid.columns; ++column) {
      const std::size_t cell = row * grid.columns + column;
      const bool measured = grid.heights_mm[cell].has_value();
      line += padded(measured ? text_from_number(result.gaps_mm[cell], 1) : "-", kCellWidth - 1);
      line += mark_of(result, row, column);
    }
    lines.push_back(line);
  }
  for (std::string& line : lines) {
    line.erase(line.find_last_not_of(' ') + 1);
  }
  return lines;
}

}  // namespace analysis::readiness
