// The stacking advice in sentences for the people who carry the cartons. Pure; English.
#pragma once

#include <string>
#include <vector>

#include "analysis/readiness/stack/stacking_advice.hpp"

namespace analysis::readiness {

// One sentence or two an entry, in the order in which they are to be read: the planned stacks, what
// to do instead, cautions. Hours are rounded up. REQUIRES: `advice` made from `plan`.
[[nodiscard]] std::vector<std::string> sentences_from_advice(const StackingPlan& plan,
                                                             const StackingAdvice& advice);

}  // namespace analysis::readiness
