// The cautions that the program and its papers carry, in one place.
#pragma once

#include <string>
#include <vector>

namespace analysis::certificate {

// On every certificate: what it is and what it is not.
[[nodiscard]] std::vector<std::string> certificate_cautions();
// For whoever works on the site: plan, outlook and job pack carry them.
[[nodiscard]] std::vector<std::string> site_cautions();

}  // namespace analysis::certificate
