#include "analysis/plan/flatness/flatness_texts.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/readiness/reason_texts.hpp"

namespace analysis::plan {

using readiness::FlatnessDirection;
using readiness::FlatnessPlace;
using readiness::FlatnessResult;
using readiness::FlatnessSpot;
using readiness::HeightGrid;
using readiness::text_as_entered;
using readiness::text_from_number;

namespace {

constexpr std::size_t kCellWidth = 6;      // "  2.4v"
constexpr std::size_t kMapLabelWidth = 4;  // "  1 "
constexpr std::size_t kLineWidth = 80;
constexpr const char* kClose = "so close to the limit that better readings might say the opposite";
constexpr double kMillimetresPerInch = kMetresPerInch * 1000.0;
constexpr double kLitresPerUsGallon = 3.785411784;
constexpr double kAlike = 1e-6;  // mm

// A gap by itself, with one decimal of a millimetre or two of an inch.
std::string small_text(double mm, bool imperial) {
  return cell_text(mm, imperial) + (imperial ? " in" : " mm");
}
double area_unit(bool imperial) { return imperial ? kMetresPerFoot * kMetresPerFoot : 1.0; }
// A stated limit, so that 3/16 in does not read as 0.19 in.
std::string inch_limit_text(const readiness::FlatnessLimit& limit) {
  return text_from_number(limit.within_mm / kMillimetresPerInch, 3) + " in";
}
// 10' rather than 10' 0".
std::string feet_text(base::Metres length) {
  std::string text = imperial_text_from(length);
  constexpr std::string_view kNoInches = "' 0\"";
  if (text.ends_with(kNoInches)) {
    text.erase(text.size() - kNoInches.size() + 1);
  }
  return text;
}
std::string place_length_text(double metres, bool imperial) {
  return imperial ? imperial_text_from(base::Metres{metres}) : text_from_number(metres, 2) + " m";
}

// For either reader.
std::string worst_text_of_note(const FlatnessResult& result, const FlatnessWords& words) {
  const FlatnessWords metric{words.limit, false};
  if (!words.imperial) {
    return worst_line(result, metric);
  }
  return (result.worst_mm > 0.0 ? "Worst gap " + gap_text(result.worst_mm, metric) + " [" +
                                      gap_text(result.worst_mm, words) + "]"
                                : "No gap anywhere") +
         ", allowed " + limit_text(metric) + " [" + limit_text(words) + "] (" + words.limit.source +
         ")";
}

bool is_close(const FlatnessResult& result, const FlatnessWords& words) {
  return std::abs(words.limit.within_mm - result.worst_mm) < result.expanded_uncertainty_mm;
}

std::string padded(const std::string& text, std::size_t width) {
  return std::string(width > text.size() ? width - text.size() : 0, ' ') + text;
}

// Rows and heights are counted from 1.
std::string text_of_place(const FlatnessPlace& place, bool imperial) {
  const std::string number = std::to_string(place.row + 1);
  const std::string along = place_length_text(place.x_m, imperial) + " along";
  if (place.direction == FlatnessDirection::line) {
    return "line " + number + ", " + along;
  }
  return "row " + number + ", height " + std::to_string(place.column + 1) + " (" + along + ", " +
         place_length_text(place.y_m, imperial) + " across)";
}

void add_spots(std::vector<std::string>& lines, const std::vector<FlatnessSpot>& spots,
               const std::string& verb, std::size_t most, bool imperial) {
  for (std::size_t i = 0; i < std::min(spots.size(), most); ++i) {
    lines.push_back(verb + small_text(spots[i].mm, imperial) + " at " +
                    text_of_place(spots[i].place, imperial));
  }
  if (spots.size() > most) {
    lines.push_back(verb + "and " + std::to_string(spots.size() - most) + " more");
  }
}

// What the readings can't show, one clause each.
std::vector<std::string> unseen_clauses(const FlatnessResult& result, const FlatnessWords& words) {
  const auto shown = [&](double metres) {
    return words.imperial ? feet_text(base::Metres{metres})
                          : readiness::centimetres_text(base::Metres{metres});
  };
  std::vector<std::string> clauses;
  for (const auto& direction : result.unseen) {
    clauses.push_back(std::string(name_of(direction.direction)) + " (heights " +
                      shown(direction.apart_m) + " apart)");
  }
  if (result.seen_m < words.limit.straightedge_m - kAlike) {
    clauses.push_back("more than " + shown(result.seen_m) + " of the straightedge's " +
                      shown(words.limit.straightedge_m));
  }
  return clauses;
}

void add_filler(std::vector<std::string>& lines, const FlatnessResult& result, bool imperial) {
  const readiness::FillerVolumes& filler = *result.filler;
  lines.push_back("  filler " + filler_text(filler.within_limit_l, imperial) +
                  " to come within the limit, nothing ground");
  if (!result.high.empty()) {
    lines.push_back("  filler " + filler_text(filler.within_limit_after_grinding_l, imperial) +
                    " to come within it, the high spots ground first");
  }
  lines.push_back("  filler " + filler_text(filler.to_high_plane_l, imperial) +
                  " to the plane on the highest points: flat, not level;");
  lines.push_back("         a compound that levels itself needs more where the floor slopes");
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

std::string gap_text(double gap_mm, const FlatnessWords& words) {
  const double unit = words.imperial ? kMillimetresPerInch : 1.0;
  const int least = words.imperial ? 2 : 1;
  const int decimals = std::abs(gap_mm - words.limit.within_mm) < kAlike
                           ? least
                           : std::max(least, readiness::decimals_between(
                                                 gap_mm / unit, words.limit.within_mm / unit));
  return text_from_number(gap_mm / unit, decimals) + (words.imperial ? " in" : " mm");
}

std::string limit_text(const FlatnessWords& words) {
  if (words.imperial) {
    return inch_limit_text(words.limit) + " over " +
           feet_text(base::Metres{words.limit.straightedge_m});
  }
  return text_as_entered(words.limit.within_mm) + " mm in " +
         text_as_entered(words.limit.straightedge_m) + " m";
}

std::string gate_question(readiness::SiteGate gate, const FlatnessWords& words) {
  if (!words.imperial || gate != readiness::SiteGate::flat) {
    return question_of(gate, words.limit);
  }
  return "Is the subfloor flat within " + inch_limit_text(words.limit) +
         " under a straightedge of " + feet_text(base::Metres{words.limit.straightedge_m}) + "?";
}

std::string worst_line(const FlatnessResult& result, const FlatnessWords& words) {
  return (result.worst_mm > 0.0 ? "Worst gap " + gap_text(result.worst_mm, words)
                                : "No gap anywhere") +
         ", allowed " + limit_text(words) + " (" + words.limit.source + ")";
}

std::string cell_text(double gap_mm, bool imperial) {
  return imperial ? text_from_number(gap_mm / kMillimetresPerInch, 2) : text_from_number(gap_mm, 1);
}

std::string area_text(base::SquareMetres area, bool imperial) {
  return text_from_number(area.value() / area_unit(imperial)) + (imperial ? " ft2" : " m2");
}

std::string area_share_text(base::SquareMetres part, base::SquareMetres whole, bool imperial) {
  return text_from_number(part.value() / area_unit(imperial)) + " of " + area_text(whole, imperial);
}

std::string filler_text(double litres, bool imperial) {
  if (!imperial) {
    return text_from_number(litres, 2) + " litres";
  }
  constexpr double kQuartsPerGallon = 4.0;
  constexpr double kOuncesPerGallon = 128.0;
  const double gallons = litres / kLitresPerUsGallon;
  if (gallons < 1.0 / kQuartsPerGallon) {
    return text_from_number(gallons * kOuncesPerGallon) + " US fl oz";
  }
  return gallons < 1.0 ? text_from_number(gallons * kQuartsPerGallon) + " US quarts"
                       : text_from_number(gallons) + " US gallons";
}

std::string stretch_text(base::Metres length, bool imperial) {
  return imperial ? feet_text(length) : place_length_text(length.value(), false);
}

std::string grounds_from(const FlatnessResult& result, const FlatnessWords& words) {
  std::string text = worst_text_of_note(result, words);
  if (result.worst_mm > 0.0) {
    text += ", ±" + small_text(result.expanded_uncertainty_mm, false) + " (k = 2), " +
            text_of_place(result.worst_at, false);
  }
  text += "; " + std::to_string(result.readings) + " readings";
  if (result.beyond > 0) {
    text += ", " + std::to_string(result.beyond) + " beyond";
  }
  if (is_close(result, words)) {
    text += std::string(", ") + kClose;
  }
  for (const std::string& unseen : unseen_clauses(result, {words.limit, false})) {
    text += "; not seen: " + unseen;
  }
  return text;
}

std::vector<std::string> lines_from(const FlatnessResult& result, const FlatnessWords& words,
                                    std::size_t spots) {
  std::vector<std::string> lines{std::string("flat: ") + (result.met ? "met" : "not met") + ". " +
                                 worst_line(result, words)};
  if (result.worst_mm > 0.0) {
    lines.push_back("  " + std::string(name_of(result.worst_at.direction)) + ", " +
                    text_of_place(result.worst_at, words.imperial));
    lines.push_back("  reading uncertainty makes that gap uncertain by " +
                    small_text(result.expanded_uncertainty_mm, words.imperial) + " (k = 2)");
  }
  if (is_close(result, words)) {
    lines.push_back(std::string("  ") + kClose);
  }
  lines.push_back("  " + std::to_string(result.readings) + " readings, " +
                  std::to_string(result.beyond) + " with a gap beyond the limit");
  add_spots(lines, result.high, "  grind  ", spots, words.imperial);
  add_spots(lines, result.low, "  fill   ", spots, words.imperial);
  if (result.filler && !result.met) {
    add_filler(lines, result, words.imperial);
  }
  for (const std::string& unseen : unseen_clauses(result, words)) {
    lines.push_back("  not seen: " + unseen);
  }
  return lines;
}

std::vector<std::string> map_lines_from(const FlatnessResult& result, const HeightGrid& grid,
                                        bool imperial) {
  if (kMapLabelWidth + grid.columns * kCellWidth > kLineWidth) {
    return {};
  }
  std::vector<std::string> lines{std::string("largest gap at each height in ") +
                                     (imperial ? "inches" : "mm") +
                                     "; v fill, ^ grind, - not measured",
                                 std::string(kMapLabelWidth, ' ')};
  for (std::size_t column = 0; column < grid.columns; ++column) {
    lines.back() += padded(std::to_string(column + 1), kCellWidth - 1) + " ";
  }
  for (std::size_t row = 0; row < grid.rows(); ++row) {
    std::string line = padded(std::to_string(row + 1), kMapLabelWidth - 1) + " ";
    for (std::size_t column = 0; column < grid.columns; ++column) {
      const std::size_t cell = row * grid.columns + column;
      const bool measured = grid.heights_mm[cell].has_value();
      line += padded(measured ? cell_text(result.gaps_mm[cell], imperial) : "-", kCellWidth - 1);
      line += mark_of(result, row, column);
    }
    lines.push_back(line);
  }
  for (std::string& line : lines) {
    line.erase(line.find_last_not_of(' ') + 1);
  }
  return lines;
}

}  // namespace analysis::plan
