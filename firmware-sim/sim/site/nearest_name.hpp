// Which of some names someone may have meant. No state.
#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

namespace firmware::sim::site {

// Levenshtein: letters put in, taken out or changed.
[[nodiscard]] std::size_t edits_between(std::string_view a, std::string_view b);

// The nearest of `names` by edit distance, the first of equals; empty when there are none.
[[nodiscard]] std::string_view nearest_name(std::string_view text,
                                            const std::vector<std::string_view>& names);

}  // namespace firmware::sim::site
