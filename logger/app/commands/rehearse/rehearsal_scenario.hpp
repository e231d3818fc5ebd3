// What a rehearsal has to know of a scenario's text (docs/scenarios.md); the simulator reads the
// rest. Pure.
#pragma once

#include <string>
#include <string_view>

#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

struct RehearsalScenario {
  analysis::base::UtcMicros start;
  // When the first cartons come, from the start; 0 where the text has none.
  analysis::base::Micros delivery_after{0};
  analysis::base::Micros length{0};  // 0 where the text has none that can be read
};

// invalid_input for a text without `start`, and for one with boxes of its own: those of the job are
// rehearsed. `name` begins the line.
[[nodiscard]] store::Result<RehearsalScenario> rehearsal_scenario_from(std::string_view text,
                                                                       const std::string& name);

}  // namespace logger::app
