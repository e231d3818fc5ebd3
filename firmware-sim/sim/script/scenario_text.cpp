#include "firmware-sim/sim/script/scenario_text.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <utility>

#include "firmware-sim/sim/script/statements.hpp"
#include "firmware-sim/sim/script/word_cursor.hpp"
#include "firmware-sim/sim/site/site_library.hpp"

namespace firmware::sim::script {
namespace {

using analysis::base::Failure;
using analysis::base::Micros;
using analysis::base::Result;

constexpr std::uint64_t kAny = std::numeric_limits<std::uint64_t>::max();

struct Reading {
  Scenario scenario;
  std::size_t script_line = 0;
  bool has_start = false;
  bool has_length = false;
};

void read_start(WordCursor& words, Reading& reading) {
  const std::string text = words.word("a time such as 2026-03-02T07:00:00Z");
  const auto at = analysis::base::utc_from_rfc3339(text);
  if (words.ok() && !at) {
    words.refuse("a time such as 2026-03-02T07:00:00Z");
  }
  reading.scenario.start = at.value_or(analysis::base::UtcMicros{});
  reading.has_start = true;
}

void read_length(WordCursor& words, Reading& reading) {
  reading.scenario.length = words.duration();
  if (words.ok() && reading.scenario.length <= Micros{0}) {
    words.refuse("a length above 0");
  }
  reading.has_length = true;
}

void read_seed(WordCursor& words, Reading& reading) {
  reading.scenario.seed = words.whole(0, kAny);
}

void read_site(WordCursor& words, Reading& reading) {
  const std::size_t index = words.one_of(site::site_names());
  if (words.ok()) {
    reading.scenario.site = *site::site_from_name(site::site_names()[index]);
  }
}

void read_set(WordCursor& words, Reading& reading) {
  constexpr double kMost = 1e12;  // each key has its own range
  const std::string key = words.word("the key of a site parameter");
  const double value = words.real(-kMost, kMost);
  if (!words.ok()) {
    return;
  }
  const auto done = site::set_site_parameter(reading.scenario.site, key, value);
  if (!done) {
    words.complain(done.error());
  }
}

void read_weather(WordCursor& words, Reading& reading) {
  reading.scenario.weather_file = words.word("the path of a weather record");
}

Target target_of(Reading& reading) { return {reading.scenario, reading.script_line}; }

void read_a_box(WordCursor& words, Reading& reading) { read_box(words, target_of(reading)); }
void read_a_transmitter(WordCursor& words, Reading& reading) {
  read_transmitter(words, target_of(reading));
}
void read_a_register(WordCursor& words, Reading& reading) {
  read_register(words, target_of(reading));
}

struct Statement {
  std::string_view word;
  void (*read)(WordCursor&, Reading&);
};
constexpr std::array<Statement, 9> kStatements{Statement{"start", read_start},
                                               Statement{"length", read_length},
                                               Statement{"seed", read_seed},
                                               Statement{"site", read_site},
                                               Statement{"set", read_set},
                                               Statement{"weather", read_weather},
                                               Statement{"box", read_a_box},
                                               Statement{"transmitter", read_a_transmitter},
                                               Statement{"register", read_a_register}};
// Left to the harness, whatever stands behind them.
constexpr std::array<std::string_view, 5> kHarnessWords{"expect", "job", "note", "environment",
                                                        "known-defect"};
constexpr std::array<std::string_view, 2> kTimedWords{"at", "from"};

std::vector<std::string_view> first_words() {
  std::vector<std::string_view> all;
  for (const Statement& statement : kStatements) {
    all.push_back(statement.word);
  }
  all.insert(all.end(), kTimedWords.begin(), kTimedWords.end());
  all.insert(all.end(), kHarnessWords.begin(), kHarnessWords.end());
  return all;
}

template <class Range>
bool contains(const Range& range, std::string_view word) {
  return std::find(range.begin(), range.end(), word) != range.end();
}

void read_statement(WordCursor& words, Reading& reading) {
  if (contains(kTimedWords, words.peek())) {
    read_timed(words, target_of(reading));
  } else if (contains(kHarnessWords, words.peek())) {
    reading.scenario.harness.push_back({std::nullopt, reading.script_line, words.rest()});
  } else {
    const std::string first = words.peek();
    words.one_of(first_words());
    for (const Statement& statement : kStatements) {
      if (words.ok() && statement.word == first) {
        statement.read(words, reading);
      }
    }
  }
  words.expect_end();
}

std::string missing_or_late(const Reading& reading, const std::string& name) {
  if (!reading.has_start || !reading.has_length) {
    return name + ": no '" + (reading.has_start ? "length" : "start") +
           "'; expected one line 'start TIME' and one 'length DURATION'";
  }
  const auto check = [&](Micros at, std::size_t line) {
    return at <= reading.scenario.length
               ? std::string()
               : name + ":" + std::to_string(line) + ": it happens after the end of the scenario";
  };
  for (const ScenarioAction& action : reading.scenario.actions) {
    if (std::string fault = check(action.after_start, action.script_line); !fault.empty()) {
      return fault;
    }
  }
  for (const HarnessStatement& statement : reading.scenario.harness) {
    if (std::string fault = check(statement.after_start.value_or(Micros{0}), statement.script_line);
        !fault.empty()) {
      return fault;
    }
  }
  return "";
}

}  // namespace

Result<Scenario, std::string> scenario_from_text(std::string_view text, const std::string& name) {
  Reading reading;
  reading.scenario.name = name;
  while (!text.empty()) {
    ++reading.script_line;
    const std::size_t end = std::min(text.find('\n'), text.size());
    WordCursor words(text.substr(0, end));
    text.remove_prefix(std::min(text.size(), end + 1));
    if (words.ok() && words.at_end()) {
      continue;
    }
    if (words.ok()) {
      read_statement(words, reading);
    }
    if (!words.ok()) {
      return Failure{name + ":" + std::to_string(reading.script_line) + ": " + words.fault()};
    }
  }
  if (std::string fault = missing_or_late(reading, name); !fault.empty()) {
    return Failure{std::move(fault)};
  }
  if (const auto fit = site::check_site(reading.scenario.site); !fit) {
    return Failure{name + ": the site can't be: " + fit.error()};
  }
  return std::move(reading.scenario);
}

}  // namespace firmware::sim::script
