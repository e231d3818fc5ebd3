// What the answers' sources share.
#pragma once

#include "analysis/readiness/site/site_answers.hpp"

namespace analysis::readiness {

[[nodiscard]] SiteQuestion barrier_question();
// The answer as a written approval makes it: met, the approval being its source.
[[nodiscard]] SiteAnswer approved(SiteAnswer answer, std::string_view approval);

}  // namespace analysis::readiness
