// The least bars (or rolls) from which lengths can be cut. Pure and repeatable.
#pragma once

#include <vector>

#include "analysis/base/units.hpp"

namespace analysis::plan {

// Each length comes out of one bar; one that is longer than a bar takes whole bars, butted, and a
// rest. `saw_cut` is lost between two lengths of one bar. The least count is found by branch and
// bound over first fit of the longest; above a fixed budget of steps the first fit stands, which
// needs at most 11/9 of the least and one bar more (Johnson 1973, from memory).
// REQUIRES: bar > 0, lengths and saw cut not negative.
[[nodiscard]] int least_bars_from(const std::vector<base::Metres>& lengths, base::Metres bar,
                                  base::Metres saw_cut);

}  // namespace analysis::plan
