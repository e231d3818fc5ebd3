// What is asked for each gate, for whoever answers: the guide of the command line and the page's
// form. Pure.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/readiness/site/site_answers.hpp"
#include "logger/app/job/job.hpp"

namespace logger::app {

// Asked before the barrier, where job.json does not say it.
inline constexpr std::string_view kBelowAsks = "what lies below underlay and panels?";
[[nodiscard]] const std::vector<analysis::readiness::SiteChoice>& below_choices();

inline constexpr std::string_view kFlatWhy =
    "panels over a hollow give at every step until their joints open";
// How a line of readings is typed.
inline constexpr std::string_view kLineExample = "0 cm=0 mm, 25 cm=2 mm, 50 cm=0 mm";

// Whether a written approval would change that answer. `below`: of vapour_barrier. REQUIRES: `word`
// is a choice of the gate's question.
[[nodiscard]] bool approval_would_count(analysis::readiness::SiteGate gate, std::string_view word,
                                        std::optional<analysis::readiness::SubfloorKind> below);

// {"questions": [...], "rooms": [...]}: every question once, and which of them each room asks, with
// what differs between rooms. docs/api.md
[[nodiscard]] std::string gate_questions_json(const Job& job);

}  // namespace logger::app
