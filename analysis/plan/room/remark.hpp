// One sentence of a plan for people, in both systems of units.
#pragma once

#include <string>

namespace analysis::plan {

struct Remark {
  std::string metric;
  std::string imperial;
  [[nodiscard]] const std::string& text(bool in_imperial) const {
    return in_imperial ? imperial : metric;
  }
};

// `words` gets whether lengths are imperial.
template <class Words>
[[nodiscard]] Remark remark_from(Words words) {
  return {words(false), words(true)};
}

}  // namespace analysis::plan
