// "at A ..." and "from A to B ...": when, and which kind of thing happens.
#include <algorithm>
#include <array>
#include <cctype>
#include <utility>

#include "firmware-sim/sim/script/statements.hpp"

namespace firmware::sim::script {
namespace {

using analysis::base::Micros;

constexpr std::uint64_t kMostRepeats = 100'000;
// Of the harness, at a time.
constexpr std::array<std::string_view, 2> kTimedHarnessWords{"daemon", "note"};

std::vector<std::string_view> all_words() {
  std::vector<std::string_view> all = site_event_words();
  for (const auto& words : {state_fault_words(), exchange_fault_words()}) {
    all.insert(all.end(), words.begin(), words.end());
  }
  all.insert(all.end(), kTimedHarnessWords.begin(), kTimedHarnessWords.end());
  return all;
}

bool is_count(const std::string& word) {
  return !word.empty() &&
         std::all_of(word.begin(), word.end(), [](unsigned char c) { return std::isdigit(c); });
}

std::optional<std::size_t> read_number(WordCursor& words, std::string_view what,
                                       std::string_view all) {
  constexpr std::uint64_t kMost = 247;
  if (words.take_if("all")) {
    words.expect(all);
    return std::nullopt;
  }
  words.expect(what);
  return words.whole(1, kMost) - 1;
}

// "daemon ..." and "note ...".
bool read_harness(WordCursor& words, const When& when, Target target) {
  if (std::find(kTimedHarnessWords.begin(), kTimedHarnessWords.end(), words.peek()) ==
      kTimedHarnessWords.end()) {
    return false;
  }
  if (when.to) {
    words.word("");
    words.refuse("'at' one moment, since nothing ends it");
  }
  target.scenario.harness.push_back({when.from, target.script_line, words.rest()});
  return true;
}

}  // namespace

When read_when(WordCursor& words, bool is_span) {
  When when;
  when.from = words.duration();
  if (!is_span) {
    return when;
  }
  words.expect("to");
  when.to = words.duration();
  if (words.ok() && *when.to <= when.from) {
    words.refuse("a time after the one it begins at");
  }
  if (words.take_if("every")) {
    if (is_count(words.peek()) && words.peek() != "0") {
      when.every = words.whole(1, kMostRepeats);
    } else {
      when.period = words.duration();
      if (words.ok() && when.period->count() <= 0) {
        words.refuse("a count of exchanges or a duration above 0");
      }
    }
  }
  if (words.take_if("first")) {
    when.first = words.whole(1, kMostRepeats);
  }
  return when;
}

void put_state(WordCursor& words, const When& when, Target target, ScenarioAction action,
               ScenarioAction undo) {
  if (words.ok() && (when.period || when.every != 1 || when.first)) {
    words.refuse("no 'every' or 'first', since this lasts from its begin to its end");
  }
  action.after_start = when.from;
  action.script_line = target.script_line;
  target.scenario.actions.push_back(action);
  if (when.to) {
    undo.after_start = *when.to;
    undo.script_line = target.script_line;
    target.scenario.actions.push_back(undo);
  }
}

void put_moments(WordCursor& words, const When& when, Target target, ScenarioAction action) {
  if (words.ok() && when.to && !when.period) {
    words.refuse("'at' one moment, or 'every' with a duration");
  }
  if (!words.ok()) {
    return;
  }
  action.script_line = target.script_line;
  const Micros end = when.to.value_or(when.from + Micros{1});
  const Micros period = when.period.value_or(Micros{1});
  std::uint64_t count = 0;
  for (Micros at = when.from; at < end && count < when.first.value_or(kMostRepeats); at += period) {
    action.after_start = at;
    target.scenario.actions.push_back(action);
    ++count;
  }
}

std::optional<std::size_t> read_box_number(WordCursor& words) {
  return read_number(words, "box", "boxes");
}
std::optional<std::size_t> read_line_number(WordCursor& words) {
  return read_number(words, "line", "lines");
}
std::optional<std::size_t> read_transmitter_number(WordCursor& words) {
  return read_number(words, "transmitter", "transmitters");
}

void read_timed(WordCursor& words, Target target) {
  const bool is_span = words.one_of(std::array<std::string_view, 2>{"at", "from"}) == 1;
  const When when = read_when(words, is_span);
  if (!words.ok() || read_harness(words, when, target) ||
      read_exchange_fault(words, when, target) || read_site_event(words, when, target) ||
      read_state_fault(words, when, target)) {
    return;
  }
  words.one_of(all_words());
}

}  // namespace firmware::sim::script
