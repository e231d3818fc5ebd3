// What the answers' sources share.
#pragma once

#include "analysis/readiness/site/site_answers.hpp"

namespace analysis::readiness {

inline constexpr std::string_view kPractice = "common practice, no source";

[[nodiscard]] SiteQuestion barrier_question();
// Where a written approval counts and one is given: met, the approval being its source.
[[nodiscard]] SiteAnswer with_approval(SiteAnswer answer, std::string_view approval);

}  // namespace analysis::readiness
