// A verdict in one sentence. Pure.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <string_view>

namespace logger::app {

// From the gates as the status document lists them: what decides comes first, and how much else is
// open: "Not ready: 12 h of 48 h were in band. 2 more are open."
[[nodiscard]] std::string headline_from(std::string_view verdict,
                                        const nlohmann::ordered_json& gates);

}  // namespace logger::app
