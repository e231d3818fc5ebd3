// The statements of a scenario script, one function for each kind; docs/scenarios.md is the
// language. Each reads its words from a cursor, which keeps the first fault, and adds to a
// scenario.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "analysis/base/time.hpp"
#include "firmware-sim/sim/scenario.hpp"
#include "firmware-sim/sim/script/word_cursor.hpp"

namespace firmware::sim::script {

// When a timed statement is in force; all after the start.
struct When {
  analysis::base::Micros from{0};
  std::optional<analysis::base::Micros> to;      // "from A to B"; nullopt = "at A"
  std::optional<analysis::base::Micros> period;  // "every 30min"
  std::uint64_t every = 1;                       // "every 7"
  std::optional<std::uint64_t> first;            // "first 100"
};

struct Target {
  Scenario& scenario;
  std::size_t script_line = 0;
};

// "box", "transmitter", "register" have been taken.
void read_box(WordCursor& words, Target target);
void read_transmitter(WordCursor& words, Target target);
void read_register(WordCursor& words, Target target);

// "at" or "from" has been taken; reads when and what.
void read_timed(WordCursor& words, Target target);
[[nodiscard]] When read_when(WordCursor& words, bool is_span);

// The fault that follows `when`: of the site, of lines, boxes, transmitters and the host's clock
// ...
bool read_site_event(WordCursor& words, const When& when, Target target);
bool read_state_fault(WordCursor& words, const When& when, Target target);
// ... or of single exchanges. Both give false, and take nothing, when the next word begins none.
bool read_exchange_fault(WordCursor& words, const When& when, Target target);
// The words that these begin with.
[[nodiscard]] std::vector<std::string_view> site_event_words();
[[nodiscard]] std::vector<std::string_view> state_fault_words();
[[nodiscard]] std::vector<std::string_view> exchange_fault_words();

// A word and what reads the rest of its statement.
template <class Read>
struct Verb {
  std::string_view word;
  Read* read;
};
template <class Read, std::size_t N>
[[nodiscard]] std::vector<std::string_view> words_of(const std::array<Verb<Read>, N>& verbs) {
  std::vector<std::string_view> words;
  for (const Verb<Read>& verb : verbs) {
    words.push_back(verb.word);
  }
  return words;
}
// The verb that comes next, taken; nullptr, and nothing taken, when none does.
template <class Read, std::size_t N>
[[nodiscard]] const Verb<Read>* take_verb(const std::array<Verb<Read>, N>& verbs,
                                          WordCursor& words) {
  for (const Verb<Read>& verb : verbs) {
    if (words.take_if(verb.word)) {
      return &verb;
    }
  }
  return nullptr;
}
using ReadTimed = void(WordCursor& words, const When& when, Target target);

// Puts `action` at when.from and, for a span, `undo` at its end.
void put_state(WordCursor& words, const When& when, Target target, ScenarioAction action,
               ScenarioAction undo);
// Puts `action` at when.from and, for a span, at every period up to its end.
void put_moments(WordCursor& words, const When& when, Target target, ScenarioAction action);

// "box N", "line N", "transmitter N" or "all boxes" and so on; nullopt = all.
[[nodiscard]] std::optional<std::size_t> read_box_number(WordCursor& words);
[[nodiscard]] std::optional<std::size_t> read_line_number(WordCursor& words);
[[nodiscard]] std::optional<std::size_t> read_transmitter_number(WordCursor& words);

}  // namespace firmware::sim::script
