// The style sheet of the HTML form. Internal to it.
#pragma once

#include <string>

namespace analysis::certificate {

// Light and dark by what the reader's device asks for, light on paper; tables become lists where
// the screen is narrow.
[[nodiscard]] std::string style_sheet();

}  // namespace analysis::certificate
