#include "logger/app/commands/rehearse/rehearsal_scenario.hpp"

#include <map>
#include <optional>
#include <sstream>
#include <vector>

namespace logger::app {

using analysis::base::Micros;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

// "1d12h": whole parts without blanks; nullopt for anything else, which the simulator judges.
std::optional<Micros> duration_from(const std::string& word) {
  static const std::map<std::string, std::int64_t> kSeconds{
      {"d", 86'400}, {"h", 3'600}, {"min", 60}, {"s", 1}};
  std::istringstream parts(word);
  std::int64_t seconds = 0;
  std::int64_t number = 0;
  while (parts >> number) {
    std::string unit;
    while (std::isalpha(parts.peek()) != 0) {
      unit += static_cast<char>(parts.get());
    }
    const auto known = kSeconds.find(unit);
    if (known == kSeconds.end() || number < 0 || number > 1'000'000) {
      return std::nullopt;
    }
    seconds += number * known->second;
  }
  return parts.eof() ? std::optional(Micros{seconds * 1'000'000}) : std::nullopt;
}

std::vector<std::string> words_of(const std::string& line) {
  std::istringstream text(line.substr(0, line.find('#')));
  std::vector<std::string> words;
  for (std::string word; text >> word;) {
    words.push_back(word);
  }
  return words;
}

}  // namespace

Result<RehearsalScenario> rehearsal_scenario_from(std::string_view text, const std::string& name) {
  RehearsalScenario scenario;
  bool has_start = false;
  std::istringstream lines{std::string(text)};
  int number = 0;
  for (std::string line; std::getline(lines, line);) {
    ++number;
    const auto words = words_of(line);
    const std::string first = words.empty() ? "" : words.front();
    if (first == "box" || first == "transmitter" || first == "register") {
      return failure(ErrorCode::invalid_input,
                     name + ":" + std::to_string(number) + ": `" + first +
                         "`: a rehearsal has the boxes of job.json; expected a scenario without");
    }
    if (first == "start" && words.size() == 2) {
      const auto start = analysis::base::utc_from_rfc3339(words[1]);
      has_start = start.has_value();
      scenario.start = start.value_or(scenario.start);
    } else if (first == "length" && words.size() == 2) {
      scenario.length = duration_from(words[1]).value_or(Micros{0});
    } else if (first == "at" && words.size() >= 4 && words[2] == "cartons" &&
               scenario.delivery_after == Micros{0}) {
      scenario.delivery_after = duration_from(words[1]).value_or(Micros{0});
    }
  }
  return has_start ? Result<RehearsalScenario>{scenario}
                   : failure(ErrorCode::invalid_input,
                             name + ": no `start TIME`; expected a scenario (docs/scenarios.md)");
}

}  // namespace logger::app
