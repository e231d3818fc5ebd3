// The status for a program that scrapes figures: text exposition format 0.0.4 of Prometheus (its
// documentation, "Exposition formats"). Units are in the names; what is not known is left out.
// Pure.
#pragma once

#include <cstdint>
#include <nlohmann/json_fwd.hpp>
#include <string>

#include "analysis/base/time.hpp"

namespace logger::web {

using analysis::base::UtcMicros;

struct MachineFigures {
  std::uintmax_t disk_free_bytes = 0;
  std::uintmax_t store_bytes = 0;
  UtcMicros at;  // ages are of this moment
};

// `status`: the document of SiteSnapshot.
[[nodiscard]] std::string metrics_text_from(const nlohmann::ordered_json& status,
                                            const MachineFigures& figures);

}  // namespace logger::web
