// What flatness readings say, in words and as a map of characters.
#pragma once

#include <string>
#include <vector>

#include "analysis/readiness/site/flatness.hpp"

namespace analysis::readiness {

// One sentence that a note keeps: worst gap, limit with its source, uncertainty, place, readings.
[[nodiscard]] std::string grounds_from(const FlatnessResult& result, const FlatnessLimit& limit);

// For people, one line each, up to 80 characters: the above, what to grind and to fill, filler,
// what the readings can't show. `spots`: how many of each kind are listed.
[[nodiscard]] std::vector<std::string> lines_from(const FlatnessResult& result,
                                                  const FlatnessLimit& limit, std::size_t spots);

// The grid by its gaps in mm, first row at the top: "v" to fill, "^" to grind, "-" = not
// measured. Empty where the rows don't fit into 80 characters.
[[nodiscard]] std::vector<std::string> map_lines_from(const FlatnessResult& result,
                                                      const HeightGrid& grid);

}  // namespace analysis::readiness
