#include "logger/app/commands/notes/gates/gate_words.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace logger::app {

using analysis::readiness::GateState;
using analysis::readiness::SiteAnswer;
using analysis::readiness::SiteGate;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

// The options that answer for a gate by a word.
struct WordOption {
  std::string_view name;
  std::string GateAnswerOptions::*word;
};
constexpr WordOption kWordOptions[] = {{"--use", &GateAnswerOptions::use},
                                       {"--heating", &GateAnswerOptions::heating},
                                       {"--found", &GateAnswerOptions::found},
                                       {"--barrier", &GateAnswerOptions::barrier}};

// nullptr for flat, which readings answer.
const WordOption* word_option_of(SiteGate gate) {
  const auto question = analysis::readiness::site_question_of(gate);
  const auto* option =
      std::ranges::find(kWordOptions, question ? question->option : "", &WordOption::name);
  return option == std::end(kWordOptions) ? nullptr : option;
}

}  // namespace

bool has_readings(const GateAnswerOptions& options) {
  return !options.grid.empty() || !options.lines.empty() || !options.spacing.empty() ||
         !options.map.empty() || !options.heights.empty() || options.reading_mm.has_value();
}

std::string answer_word_in(const GateAnswerOptions& options, SiteGate gate) {
  const WordOption* option = word_option_of(gate);
  return option == nullptr ? std::string() : options.*option->word;
}

void put_answer_word(GateAnswerOptions& options, SiteGate gate, std::string word) {
  options.*word_option_of(gate)->word = std::move(word);
}

Result<void> check_gate_options(const NoteOptions& options, SiteGate gate) {
  const GateAnswerOptions& o = options.gate;
  const WordOption* own = word_option_of(gate);
  std::string_view foreign;
  for (const WordOption& option : kWordOptions) {
    if (foreign.empty() && !(o.*option.word).empty() && &option != own) {
      foreign = option.name;
    }
  }
  if (foreign.empty() && has_readings(o) && gate != SiteGate::flat) {
    foreign = "readings";
  }
  if (!foreign.empty()) {
    return failure(ErrorCode::invalid_input, std::string(foreign) + ": not for gate " +
                                                 options.subject + ", which takes " +
                                                 answer_hint(gate));
  }
  const bool answered = !answer_word_in(o, gate).empty();
  if (!o.below.empty() && (gate != SiteGate::vapour_barrier || !answered)) {
    return failure(ErrorCode::invalid_input, "--below goes with --barrier of gate vapour_barrier");
  }
  if (!o.approval.empty() && !answered) {
    return failure(ErrorCode::invalid_input,
                   "--approval goes with an answer that it opens: " + answer_hint(gate));
  }
  return check_text("--approval", o.approval, 0, 200);
}

std::string gate_state_text(GateState state) {
  return state == GateState::unknown ? "open" : std::string(name_of(state));
}

std::string answer_hint(SiteGate gate) {
  const auto question = analysis::readiness::site_question_of(gate);
  if (!question) {
    return "--grid FILE.csv --spacing \"25 cm\", or --line \"0 cm=0 mm, 50 cm=2 mm, ...\"";
  }
  const std::string below = gate == SiteGate::vapour_barrier ? "--below KIND " : "";
  std::string words;
  for (const auto& choice : question->choices) {
    words += (words.empty() ? "" : "|") + std::string(choice.word);
  }
  return below + std::string(question->option) + " " + words;
}

std::string choices_refusal(SiteGate gate, const std::string& word) {
  return std::string(word_option_of(gate)->name) + " `" + word + "`: expected " + answer_hint(gate);
}

std::string answer_grounds(const SiteAnswer& answer) {
  // An approval is reason and source in one.
  const bool allowed = answer.approval_counts && answer.state == GateState::met;
  return "Answered: " + answer.text + "; " + answer.why +
         (allowed ? std::string() : " (" + answer.source + ")");
}

std::vector<std::string> answer_lines(const std::string& gate, const SiteAnswer& answer) {
  std::vector<std::string> lines{gate + ": " + gate_state_text(answer.state) + ". " + answer.text,
                                 "  why: " + answer.why, "  source: " + answer.source};
  if (!answer.action.empty()) {
    lines.insert(lines.begin() + 2, "  to do: " + answer.action);
  }
  if (answer.approval_counts && answer.state != GateState::met) {
    lines.emplace_back("  an approval: the same again with --approval \"who, when\"");
  }
  return lines;
}

}  // namespace logger::app
