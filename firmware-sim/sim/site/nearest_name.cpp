#include "firmware-sim/sim/site/nearest_name.hpp"

#include <algorithm>
#include <cstddef>

#include "analysis/base/edit_distance.hpp"

namespace firmware::sim::site {

std::string_view nearest_name(std::string_view text, std::span<const std::string_view> names) {
  constexpr std::size_t kLongestCompared = 64;
  constexpr std::size_t kShortestBeginning = 3;
  text = text.substr(0, kLongestCompared);
  std::string_view nearest;
  std::size_t least = std::max<std::size_t>(2, text.size() / 3) + 1;
  for (const std::string_view name : names) {
    const std::size_t away = analysis::base::edit_distance(text, name);
    if (away < least && away < name.size()) {
      least = away;
      nearest = name;
    }
  }
  if (!nearest.empty() || text.size() < kShortestBeginning) {
    return nearest;
  }
  const auto longer = std::find_if(
      names.begin(), names.end(), [text](std::string_view name) { return name.starts_with(text); });
  return longer == names.end() ? nearest : *longer;
}

std::string nearest_text(std::string_view text, std::span<const std::string_view> names) {
  const std::string_view nearest = nearest_name(text, names);
  return nearest.empty() ? "" : "; nearest is " + std::string(nearest);
}

}  // namespace firmware::sim::site
