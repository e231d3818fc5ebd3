#include "logger/app/commands/notes/gates/gate_words.hpp"

namespace logger::app {

using analysis::readiness::GateState;
using analysis::readiness::SiteAnswer;
using analysis::readiness::SiteGate;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

// Which option of the command line answers for the gate.
std::string_view option_of(SiteGate gate) {
  const auto question = analysis::readiness::site_question_of(gate);
  return question ? question->option : std::string_view("--grid");
}

struct GateOption {
  std::string_view name;
  bool given;
};

}  // namespace

bool has_readings(const GateAnswerOptions& options) {
  return !options.grid.empty() || !options.lines.empty() || !options.spacing.empty() ||
         !options.map.empty() || options.reading_mm.has_value();
}

std::string answer_word_in(const GateAnswerOptions& options, SiteGate gate) {
  const std::string_view option = option_of(gate);
  return option == "--use"       ? options.use
         : option == "--heating" ? options.heating
         : option == "--barrier" ? options.barrier
         : option == "--found"   ? options.found
                                 : std::string();
}

Result<void> check_gate_options(const NoteOptions& options, SiteGate gate) {
  const GateAnswerOptions& o = options.gate;
  const std::string_view own = option_of(gate);
  for (const GateOption& option :
       {GateOption{"--use", !o.use.empty()}, GateOption{"--heating", !o.heating.empty()},
        GateOption{"--found", !o.found.empty()}, GateOption{"--barrier", !o.barrier.empty()},
        GateOption{"--grid", has_readings(o)}}) {
    if (option.given && option.name != own) {
      return failure(
          ErrorCode::invalid_input,
          (option.name == "--grid" ? std::string("readings") : std::string(option.name)) +
              ": not for gate " + options.subject + ", which takes " + answer_hint(gate));
    }
  }
  const bool answered = !answer_word_in(o, gate).empty();
  if (!o.below.empty() && (own != "--barrier" || !answered)) {
    return failure(ErrorCode::invalid_input, "--below goes with --barrier of gate vapour_barrier");
  }
  if (!o.approval.empty() && !answered) {
    return failure(ErrorCode::invalid_input,
                   "--approval goes with an answer that it opens: " + answer_hint(gate));
  }
  return check_text("--approval", o.approval, 0, 200);
}

std::string gate_state_text(GateState state) {
  return state == GateState::met ? "met" : state == GateState::not_met ? "not met" : "open";
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
  return std::string(option_of(gate)) + " `" + word + "`: expected " + answer_hint(gate);
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
