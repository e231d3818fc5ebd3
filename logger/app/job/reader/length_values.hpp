// Lengths of job.json: texts that carry their unit. Pure.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "logger/app/job/reader/keys/plan_keys.hpp"

namespace logger::app {

class Findings;
class ObjectView;

// What is wrong, one clause; a sign may stand before the length where the rule allows less than 0.
[[nodiscard]] analysis::base::Result<analysis::base::Metres, std::string> length_in(
    std::string_view text, const key_rules::LengthRule& rule);
// nullopt where the key is absent, empty or no such length; the last goes to `findings`. `path`: of
// the object.
[[nodiscard]] std::optional<analysis::base::Metres> length_of_key(const ObjectView& view,
                                                                  const std::string& path,
                                                                  const key_rules::LengthRule& rule,
                                                                  Findings& findings);

}  // namespace logger::app
