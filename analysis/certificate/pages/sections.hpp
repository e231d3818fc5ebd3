// The tables and lists of the certificate. Internal to the pages.
#pragma once

#include <optional>

#include "analysis/certificate/pages/setting.hpp"

namespace analysis::certificate {

[[nodiscard]] drawing::Section gates_section(const Setting& setting);
[[nodiscard]] drawing::Section charts_section(const Setting& setting);
// Excursions, and unknown time beside them.
[[nodiscard]] drawing::Section incidents_section(const Setting& setting);
[[nodiscard]] drawing::Section lost_records_section(const Setting& setting);
[[nodiscard]] drawing::Section limits_section(const Setting& setting);
[[nodiscard]] drawing::Section instruments_section(const Setting& setting);
// Placements and photos; nullopt where there are none.
[[nodiscard]] std::optional<drawing::Section> site_notes_section(const Setting& setting);
[[nodiscard]] drawing::Section cautions_section(const Setting& setting);
// Digest as text and code, and how to check it.
[[nodiscard]] drawing::Section proof_section(const Setting& setting);

}  // namespace analysis::certificate
