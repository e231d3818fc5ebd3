#include "firmware-sim/sim/site/place/box_place.hpp"

#include <algorithm>

namespace firmware::sim::site {

const std::vector<std::string_view>& place_names() {
  static const std::vector<std::string_view> names{"room", "other-room", "van", "outdoors"};
  return names;
}

std::string_view text_of(BoxPlace place) {
  return place_names().at(static_cast<std::size_t>(place));
}

std::optional<BoxPlace> place_from_name(std::string_view name) {
  const auto& names = place_names();
  const auto found = std::find(names.begin(), names.end(), name);
  if (found == names.end()) {
    return std::nullopt;
  }
  return static_cast<BoxPlace>(found - names.begin());
}

}  // namespace firmware::sim::site
