// Where a box can stand. Values are not stored anywhere.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

namespace firmware::sim::site {

enum class BoxPlace : std::uint8_t { room, other_room, van, outdoors };
inline constexpr std::size_t kBoxPlaces = 4;

// "room", "other-room", "van", "outdoors".
[[nodiscard]] std::string_view text_of(BoxPlace place);
[[nodiscard]] std::optional<BoxPlace> place_from_name(std::string_view name);
[[nodiscard]] const std::vector<std::string_view>& place_names();

}  // namespace firmware::sim::site
