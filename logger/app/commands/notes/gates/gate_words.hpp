// Which options belong to which gate, and the words of answers.
#pragma once

#include <string>
#include <vector>

#include "analysis/readiness/site/site_answers.hpp"
#include "logger/app/commands/commands.hpp"

namespace logger::app {

// The choice that was typed for the gate; empty = none, as always for flat.
[[nodiscard]] std::string answer_word_in(const GateAnswerOptions& options,
                                         analysis::readiness::SiteGate gate);
// REQUIRES: not for flat, which readings answer.
void put_answer_word(GateAnswerOptions& options, analysis::readiness::SiteGate gate,
                     std::string word);
[[nodiscard]] bool has_readings(const GateAnswerOptions& options);

// invalid_input, one line, for an option of another gate or without what it goes with.
[[nodiscard]] store::Result<void> check_gate_options(const NoteOptions& options,
                                                     analysis::readiness::SiteGate gate);

[[nodiscard]] std::string gate_state_text(analysis::readiness::GateState state);  // "open"
// "--use WORD": what to type so that the answer follows from what was seen or measured.
[[nodiscard]] std::string answer_hint(analysis::readiness::SiteGate gate);
// One line that names the choices.
[[nodiscard]] std::string choices_refusal(analysis::readiness::SiteGate gate,
                                          const std::string& word);
// One sentence that a note keeps, and the same for the person who notes it.
[[nodiscard]] std::string answer_grounds(const analysis::readiness::SiteAnswer& answer);
[[nodiscard]] std::vector<std::string> answer_lines(const std::string& gate,
                                                    const analysis::readiness::SiteAnswer& answer);

}  // namespace logger::app
