// How far apart two words are, for telling which of some names was meant. Pure.
#pragma once

#include <cstddef>
#include <string_view>

namespace analysis::base {

// Bytes inserted, removed or changed (Levenshtein). O(a.size() * b.size()).
[[nodiscard]] std::size_t edit_distance(std::string_view a, std::string_view b);

}  // namespace analysis::base
