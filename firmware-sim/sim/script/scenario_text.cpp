#include "firmware-sim/sim/script/scenario_text.hpp"

#include <algorithm>
#include <array>
#include <limits>
#include <map>
#include <utility>

#include "firmware-sim/sim/script/statements.hpp"
#include "firmware-sim/sim/script/word_cursor.hpp"
#include "firmware-sim/sim/site/site_library.hpp"

namespace firmware::sim::script {
namespace {

using analysis::base::Failure;
using analysis::base::Micros;
using analysis::base::Result;

// A time or duration after the start, as it was written.
struct TimeWord {
  Micros after_start{0};
  std::size_t script_line = 0;
  std::string word;
};

struct Reading {
  Scenario scenario;
  std::size_t script_line = 0;
  // What may be said once, with the line that said it.
  std::map<std::string, std::size_t> said;
  std::vector<TimeWord> times;
  bool has_set = false;
};

// A second time would silently win over the first.
void say_once(WordCursor& words, Reading& reading, const std::string& what) {
  const auto [first, is_new] = reading.said.emplace(what, reading.script_line);
  if (!is_new) {
    words.refuse_word(what, "once, and line " + std::to_string(first->second) + " has it");
  }
}

void read_start(WordCursor& words, Reading& reading) {
  say_once(words, reading, "start");
  const std::string text = words.word("a time such as 2026-03-02T07:00:00Z");
  const auto at = analysis::base::utc_from_rfc3339(text);
  if (words.ok() && !at) {
    words.refuse("a time such as 2026-03-02T07:00:00Z");
  }
  reading.scenario.start = at.value_or(analysis::base::UtcMicros{});
}

void read_length(WordCursor& words, Reading& reading) {
  say_once(words, reading, "length");
  reading.scenario.length = words.duration();
  if (words.ok() && reading.scenario.length <= Micros{0}) {
    words.refuse("a length above 0");
  }
}

void read_seed(WordCursor& words, Reading& reading) {
  say_once(words, reading, "seed");
  reading.scenario.seed = words.whole(0, kAny);
}

void read_site(WordCursor& words, Reading& reading) {
  say_once(words, reading, "site");
  if (words.ok() && reading.has_set) {
    words.refuse("it before the first 'set', which it would undo");
  }
  const std::size_t index = words.one_of(site::site_names());
  if (words.ok()) {
    reading.scenario.site = *site::site_from_name(site::site_names()[index]);
  }
}

void read_set(WordCursor& words, Reading& reading) {
  constexpr double kMost = 1e12;  // each key has its own range
  const std::string key = words.word("the key of a site parameter and its value");
  if (words.ok() && words.at_end() && site::site_parameter(reading.scenario.site, key)) {
    words.refuse("its value behind it");
  }
  const double value = words.at_end() ? 0.0 : words.real(-kMost, kMost);
  if (!words.ok()) {
    return;
  }
  if (const auto done = site::set_site_parameter(reading.scenario.site, key, value); !done) {
    words.complain(done.error());
  }
  say_once(words, reading, "set " + key);
  reading.has_set = true;
}

void read_weather(WordCursor& words, Reading& reading) {
  say_once(words, reading, "weather");
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

// The times of "at A" and "from A to B"; whatever is wrong with them is read_timed's to say.
void keep_times(WordCursor words, Reading& reading) {
  const bool is_span = words.word("") == "from";
  const auto keep = [&] {
    const std::string word = words.word("");
    if (const auto at = duration_from_text(word)) {
      reading.times.push_back({*at, reading.script_line, word});
    }
  };
  keep();
  if (is_span && words.take_if("to")) {
    keep();
  }
}

void read_statement(WordCursor& words, Reading& reading) {
  if (contains(kTimedWords, words.peek())) {
    keep_times(words, reading);
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

std::string where(const std::string& name, std::size_t script_line) {
  return name + ":" + std::to_string(script_line) + ": ";
}

// What is wrong with the text as a whole; empty = nothing.
std::string fault_of_whole(const Reading& reading, const std::string& name) {
  const auto has = [&](const char* what) { return reading.said.count(what) == 1; };
  if (!has("start") || !has("length")) {
    return where(name, std::max<std::size_t>(1, reading.script_line)) + "it ends without '" +
           (has("start") ? "length" : "start") +
           "'; expected one line 'start TIME' and one 'length DURATION'";
  }
  for (const TimeWord& time : reading.times) {
    if (time.after_start > reading.scenario.length) {
      return where(name, time.script_line) + "'" + time.word +
             "': expected a time within the length that line " +
             std::to_string(reading.said.at("length")) + " says, it is after the end";
    }
  }
  for (std::size_t i = 0; i < reading.scenario.transmitters.size(); ++i) {
    const ScenarioTransmitter& placed = reading.scenario.transmitters[i];
    if (placed.transmitter.registers.empty()) {
      const std::string who = "transmitter " + std::to_string(i + 1);
      return where(name, placed.script_line) + "'" + who +
             "': expected at least one 'register ... " + "of " + who + "' below";
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
      return Failure{where(name, reading.script_line) + words.fault()};
    }
  }
  if (std::string fault = fault_of_whole(reading, name); !fault.empty()) {
    return Failure{std::move(fault)};
  }
  if (const auto fit = site::check_site(reading.scenario.site); !fit) {
    return Failure{name + ": the site can't be: " + fit.error()};
  }
  return std::move(reading.scenario);
}

}  // namespace firmware::sim::script
