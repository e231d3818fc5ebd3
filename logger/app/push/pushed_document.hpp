// The present state of a job as one signed line, for whoever can't ask the job itself. Format
// dwellog-pushed-1 (docs/afar.md). Pure; any thread.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/evidence/signing_key.hpp"

namespace logger::app {

using analysis::base::Micros;
using analysis::base::UtcMicros;

struct PushedState {
  const nlohmann::ordered_json& status;  // dwellog-status/1, whole or shared
  UtcMicros made_at;
  Micros every{0};  // when the next one is expected
};

// One line of canonical JSON (RFC 8785) with a line end; "signature" is null without a key. A "<"
// inside a text becomes "‹", so that the line may stand in an HTML document byte for byte.
[[nodiscard]] analysis::base::Result<std::string, analysis::evidence::Fault> pushed_document(
    const PushedState& state, const analysis::evidence::SigningKey* key);

}  // namespace logger::app
