// The part of the certificate that answers: may one lay here, what, where, when, how long. Internal
// to the pages.
#pragma once

#include <optional>

#include "analysis/certificate/pages/setting.hpp"

namespace analysis::certificate {

// What comes before all else; nullopt where there is nothing.
[[nodiscard]] std::optional<drawing::Section> notices_section(const Setting& setting);
[[nodiscard]] drawing::Section verdict_section(const Setting& setting);
// Three columns: what, where, when.
[[nodiscard]] drawing::Section subject_section(const Setting& setting);
[[nodiscard]] drawing::Section hours_section(const Setting& setting);

}  // namespace analysis::certificate
