// What flatness readings say, in words and as a map of characters. In metric units, or in decimals
// of an inch, feet and inches, and US volumes. Pure.
#pragma once

#include <string>
#include <vector>

#include "analysis/readiness/site/flatness.hpp"

namespace analysis::plan {

struct FlatnessWords {
  const readiness::FlatnessLimit& limit;
  bool imperial = false;
};

// "6.0 mm" or "0.24 in"; more decimals where it would read as the limit and is not.
[[nodiscard]] std::string gap_text(double gap_mm, const FlatnessWords& words);
// "3 mm in 1 m" or "0.188 in over 10'".
[[nodiscard]] std::string limit_text(const FlatnessWords& words);
// What is asked for a gate; of these only flatness has lengths.
[[nodiscard]] std::string gate_question(readiness::SiteGate gate, const FlatnessWords& words);
// "Worst gap 6.0 mm, allowed 3 mm in 1 m (source)".
[[nodiscard]] std::string worst_line(const readiness::FlatnessResult& result,
                                     const FlatnessWords& words);
// The number alone: "6.0", or "0.24" for inches.
[[nodiscard]] std::string cell_text(double gap_mm, bool imperial);
// "20.0 m2", or "215.3 ft2".
[[nodiscard]] std::string area_text(base::SquareMetres area, bool imperial);
// "1.6 of 20.0 m2", of the floor.
[[nodiscard]] std::string area_share_text(base::SquareMetres part, base::SquareMetres whole,
                                          bool imperial);
// "0.19 litres"; US fluid ounces below a quart, quarts below a gallon, gallons (NIST Handbook 44,
// appendix C).
[[nodiscard]] std::string filler_text(double litres, bool imperial);
// A length on the floor: "4.5 m", "0.25 m", or feet and inches.
[[nodiscard]] std::string stretch_text(base::Metres length, bool imperial);

// One sentence that a note keeps: worst gap, limit with its source, uncertainty, place, readings.
// Metric; with `imperial` gap and limit stand in inches behind, so that both can read it.
[[nodiscard]] std::string grounds_from(const readiness::FlatnessResult& result,
                                       const FlatnessWords& words);

// For people, one line each: the above, what to grind and to fill, filler, what the readings can't
// show. `spots`: how many of each kind are listed.
[[nodiscard]] std::vector<std::string> lines_from(const readiness::FlatnessResult& result,
                                                  const FlatnessWords& words, std::size_t spots);

// The grid by its gaps in mm or inches, first row at the top: "v" to fill, "^" to grind, "-" = not
// measured. Empty where the rows don't fit into 80 characters.
[[nodiscard]] std::vector<std::string> map_lines_from(const readiness::FlatnessResult& result,
                                                      const readiness::HeightGrid& grid,
                                                      bool imperial);

}  // namespace analysis::plan
