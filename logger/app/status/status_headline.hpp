// A verdict in one sentence. Pure.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

namespace logger::app {

// Of a room as the status document shows it. From its gates: what decides comes first, and how much
// else is open: "Not ready: 12 h of 48 h were in band. 2 more are open." A floor that is being laid
// is told before that; of one that lies, the climate in service is all there is.
[[nodiscard]] std::string headline_from(const nlohmann::ordered_json& room);

}  // namespace logger::app
