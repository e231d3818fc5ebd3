#include "logger/app/commands/notes/gates/dialogue.hpp"

#include <istream>
#include <ostream>

#include "logger/app/commands/notes/note_values.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::readiness::SiteChoice;

std::optional<std::string> Dialogue::ask(const std::string& prompt) {
  shown_ << prompt << std::flush;
  std::string line;
  if (!std::getline(answers_, line)) {
    ended_ = true;
    shown_ << '\n';
    return std::nullopt;
  }
  shown_ << (echoes_ ? line + '\n' : std::string());
  line = std::string(trimmed(line));
  if (line == "q") {
    ended_ = true;
    return std::nullopt;
  }
  return line;
}

void Dialogue::say(const std::string& line, std::size_t indent) {
  show(std::string(indent, ' ') + wrapped(line, indent));
}

void Dialogue::show(const std::string& line) { shown_ << line << '\n'; }

std::optional<std::string> Dialogue::choose(const std::vector<SiteChoice>& choices,
                                            const std::vector<std::string>& explained) {
  constexpr std::size_t kTextColumn = 20;
  for (std::size_t i = 0; i < choices.size(); ++i) {
    const std::string number = std::to_string(i + 1);
    const std::string head =
        std::string(number.size() < 2 ? 4 - number.size() : 2, ' ') + number + "  ";
    shown_ << padded(head + std::string(choices[i].word), kTextColumn)
           << wrapped(std::string(choices[i].text), kTextColumn) << '\n';
  }
  while (const auto typed = ask("answer: ")) {
    if (typed->empty()) {
      return std::nullopt;
    }
    if (*typed == "?") {
      for (const std::string& line : explained) {
        say(line, 2);
      }
      continue;
    }
    for (std::size_t i = 0; i < choices.size(); ++i) {
      if (*typed == std::to_string(i + 1) || *typed == choices[i].word) {
        return std::string(choices[i].word);
      }
    }
    say("`" + *typed + "`: expected 1 to " + std::to_string(choices.size()) +
            ", one of the words, ? to explain, Enter to skip, q to end",
        2);
  }
  return std::nullopt;
}

}  // namespace logger::app
