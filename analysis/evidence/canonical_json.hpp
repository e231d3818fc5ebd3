// The one spelling of a JSON value that is hashed and signed. Source: RFC 8785 (JSON
// Canonicalization Scheme). Pure; any thread. Stricter than the RFC in one thing: a number that is
// written as an integer lies within +-2^53, so that every reader holds it exactly.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/evidence/fault.hpp"

namespace analysis::evidence {

inline constexpr int kMaxJsonDepth = 32;  // arrays and objects inside each other

// The text ECMAScript's Number::toString gives: shortest digits that read back as the same double.
// nullopt for NaN and infinities. Source: RFC 8785 section 3.2.2.3.
[[nodiscard]] std::optional<std::string> es6_text_from_double(double value);

// Keys in order of their UTF-16 code units, no white space. Refuses NaN, infinities, integers
// beyond +-2^53, invalid UTF-8, binary values, and nesting deeper than kMaxJsonDepth.
[[nodiscard]] base::Result<std::string, Fault> canonical_from_json(const nlohmann::json& value);

// Accepts the exact canonical bytes only: no duplicate key, no white space, no other spelling of a
// number or string, nothing after the value. The fault names the byte offset of the first
// difference. Bytes nested deeper than kMaxJsonDepth are refused before they are parsed.
[[nodiscard]] base::Result<nlohmann::json, Fault> json_from_canonical(std::string_view bytes);

}  // namespace analysis::evidence
