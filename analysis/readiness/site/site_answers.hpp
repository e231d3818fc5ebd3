// What an answer of a person on the site means for a gate: met, not met or open, why, what to do
// and who says so. Pure. The manufacturer's instructions win: where a written approval can open
// what common practice closes, the answer says so and takes it.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::readiness {

// What lies right below underlay and panels. Values are permanent (job.json names them).
enum class SubfloorKind : std::uint8_t {
  concrete = 1,
  screed = 2,
  tile = 3,
  stone = 4,
  crawl_space = 5,  // a timber floor over a crawl space
  timber = 6,       // an upper timber floor over a heated room
};
[[nodiscard]] std::string_view name_of(SubfloorKind kind);  // "crawl_space"
[[nodiscard]] std::optional<SubfloorKind> subfloor_kind_from_name(std::string_view name);
[[nodiscard]] std::span<const std::string_view> subfloor_kind_names();

// Whether a vapour barrier belongs under the underlay. Source: common practice, as each says.
struct BarrierNeed {
  bool needed = true;
  bool maker_decides = false;  // practice alone does not settle it: the floor's instructions do
  std::string_view why;        // one sentence
  std::string_view source;
};
[[nodiscard]] BarrierNeed barrier_over(SubfloorKind kind);

// One of the answers to a question, by the word that a command line takes.
struct SiteChoice {
  std::string_view word;  // "bathroom"
  std::string_view text;  // for people
};
// What is asked for a gate. `flat` has none: readings answer it (flatness.hpp).
struct SiteQuestion {
  SiteGate gate = SiteGate::room_kind;
  std::string_view option;  // "--use"
  std::string_view asks;    // one line
  std::string_view why;     // one line: what goes wrong otherwise
  std::vector<SiteChoice> choices;
};
[[nodiscard]] std::optional<SiteQuestion> site_question_of(SiteGate gate);

struct SiteAnswer {
  GateState state = GateState::unknown;  // unknown = the gate stays open
  std::string text;                      // the answer, for people
  std::string why;                       // one sentence
  std::string action;                    // what to do; empty when there is nothing
  std::string source;
  bool approval_counts = false;  // a written approval would make it met, or has
};
// How `why` begins where an approval decides: what follows is free text and may name a person.
inline constexpr std::string_view kAllowedInWriting = "allowed in writing: ";
// `word` as a choice of the gate's question, `approval` = who allows it, in writing; may be empty.
// An approval counts only where approval_counts says so. nullopt for a word that is no choice.
// Not for vapour_barrier, which takes two answers.
[[nodiscard]] std::optional<SiteAnswer> site_answer_from(SiteGate gate, std::string_view word,
                                                         std::string_view approval);
// `barrier` as a choice of that gate's question.
[[nodiscard]] std::optional<SiteAnswer> barrier_answer_from(SubfloorKind below,
                                                            std::string_view barrier,
                                                            std::string_view approval);

}  // namespace analysis::readiness
