// Which of some names someone may have meant. No state.
#pragma once

#include <span>
#include <string>
#include <string_view>

namespace firmware::sim::site {

// The nearest of `names` by edit distance, the first of equals, or else the first that begins with
// `text`; empty when none is near enough for anyone to have meant it.
[[nodiscard]] std::string_view nearest_name(std::string_view text,
                                            std::span<const std::string_view> names);
// "; nearest is NAME" for the end of a message; empty when none is near.
[[nodiscard]] std::string nearest_text(std::string_view text,
                                       std::span<const std::string_view> names);

}  // namespace firmware::sim::site
