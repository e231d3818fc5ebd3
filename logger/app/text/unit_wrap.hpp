// Wrapping of sentences with values for a terminal. Pure.
#pragma once

#include <cstddef>
#include <string>

namespace logger::app {

// As wrapped(), but a number is never parted from its unit, nor "±" from its number.
[[nodiscard]] std::string wrapped_with_units(const std::string& text, std::size_t indent);

}  // namespace logger::app
