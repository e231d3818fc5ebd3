// Moments in documents for programs.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>

#include "analysis/base/time.hpp"

namespace logger::app {

// RFC 3339; null where there is none.
[[nodiscard]] inline nlohmann::ordered_json time_json(
    const std::optional<analysis::base::UtcMicros>& at) {
  return at ? nlohmann::ordered_json(analysis::base::rfc3339_from_utc(*at))
            : nlohmann::ordered_json(nullptr);
}

}  // namespace logger::app
