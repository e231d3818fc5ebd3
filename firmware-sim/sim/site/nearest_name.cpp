#include "firmware-sim/sim/site/nearest_name.hpp"

#include <algorithm>
#include <cstddef>
#include <numeric>
#include <utility>

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

std::string_view nearest_name(std::string_view text, const std::vector<std::string_view>& names) {
  constexpr std::size_t kLongestCompared = 64;
  text = text.substr(0, kLongestCompared);
  const auto nearest =
      std::min_element(names.begin(), names.end(), [text](std::string_view a, std::string_view b) {
        return edits_between(text, a) < edits_between(text, b);
      });
  return nearest == names.end() ? std::string_view{} : *nearest;
}

}  // namespace firmware::sim::site
