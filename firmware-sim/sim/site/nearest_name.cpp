#include "firmware-sim/sim/site/nearest_name.hpp"

#include <algorithm>
#include <cstddef>
#include <numeric>
#include <utility>
#include <vector>

namespace firmware::sim::site {

std::size_t edits_between(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = std::exchange(row[0], i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t changed = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = std::exchange(row[j], std::min({changed, row[j] + 1, row[j - 1] + 1}));
    }
  }
  return row.back();
}

std::string_view nearest_name(std::string_view text, std::span<const std::string_view> names) {
  constexpr std::size_t kLongestCompared = 64;
  constexpr std::size_t kShortestBeginning = 3;
  text = text.substr(0, kLongestCompared);
  std::string_view nearest;
  std::size_t least = std::max<std::size_t>(2, text.size() / 3) + 1;
  for (const std::string_view name : names) {
    const std::size_t away = edits_between(text, name);
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
