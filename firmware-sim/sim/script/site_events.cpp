// What people do on site.
#include <algorithm>
#include <array>

#include "firmware-sim/sim/script/statements.hpp"

namespace firmware::sim::script {
namespace {

constexpr std::array<std::string_view, 2> kOffOn{"off", "on"};
constexpr std::array<std::string_view, 2> kClosedOpen{"closed", "open"};
constexpr double kLowestCelsius = -40.0;
constexpr double kHighestCelsius = 60.0;

ScenarioAction action_of(ActionKind kind, double value) { return {.kind = kind, .value = value}; }

// The other way round at the end of a span.
void put_switch(WordCursor& words, const When& when, Target target, ActionKind kind, bool on) {
  put_state(words, when, target, action_of(kind, on ? 1.0 : 0.0), action_of(kind, on ? 0.0 : 1.0));
}

void read_heater(WordCursor& words, const When& when, Target target) {
  put_switch(words, when, target, ActionKind::heater, words.one_of(kOffOn) == 1);
}

// "cooling on|off" and "cooling to 24C"
void read_cooling(WordCursor& words, const When& when, Target target) {
  if (words.take_if("to")) {
    const double celsius = words.real(kLowestCelsius, kHighestCelsius, "C");
    put_moments(words, when, target, action_of(ActionKind::cooling_set_point, celsius));
    return;
  }
  put_switch(words, when, target, ActionKind::cooling, words.one_of(kOffOn) == 1);
}

void read_humidifier(WordCursor& words, const When& when, Target target) {
  put_switch(words, when, target, ActionKind::humidifier, words.one_of(kOffOn) == 1);
}

void read_dryer(WordCursor& words, const When& when, Target target) {
  put_switch(words, when, target, ActionKind::dryer, words.one_of(kOffOn) == 1);
}

void read_windows(WordCursor& words, const When& when, Target target) {
  put_switch(words, when, target, ActionKind::windows, words.one_of(kClosedOpen) == 1);
}

void read_thermostat(WordCursor& words, const When& when, Target target) {
  words.expect("to");
  const double celsius = words.real(kLowestCelsius, kHighestCelsius, "C");
  put_moments(words, when, target, action_of(ActionKind::thermostat, celsius));
}

// They leave at the end of a span.
void read_people(WordCursor& words, const When& when, Target target) {
  const auto count = static_cast<double>(words.whole(0, 1000));
  put_state(words, when, target, action_of(ActionKind::people, count),
            action_of(ActionKind::people, 0.0));
}

// "wet trade of 5kg within 2d"
void read_wet(WordCursor& words, const When& when, Target target) {
  words.expect("trade");
  words.expect("of");
  ScenarioAction action = action_of(ActionKind::wet_trade, words.real(0.001, 1e5, "kg"));
  words.expect("within");
  action.span = words.duration();
  if (words.ok() && action.span.count() == 0) {
    words.refuse("a duration above 0");
  }
  put_moments(words, when, target, action);
}

// "cartons arrive" and "cartons arrive at 4C"
void read_cartons(WordCursor& words, const When& when, Target target) {
  words.expect("arrive");
  ScenarioAction action = action_of(ActionKind::delivery, 0.0);
  if (words.take_if("at")) {
    action = action_of(ActionKind::delivery_at, words.real(kLowestCelsius, kHighestCelsius, "C"));
  }
  put_moments(words, when, target, action);
}

constexpr std::array<Verb<ReadTimed>, 9> kEventVerbs{
    Verb<ReadTimed>{"heater", read_heater},         Verb<ReadTimed>{"cooling", read_cooling},
    Verb<ReadTimed>{"humidifier", read_humidifier}, Verb<ReadTimed>{"dryer", read_dryer},
    Verb<ReadTimed>{"windows", read_windows},       Verb<ReadTimed>{"thermostat", read_thermostat},
    Verb<ReadTimed>{"people", read_people},         Verb<ReadTimed>{"wet", read_wet},
    Verb<ReadTimed>{"cartons", read_cartons}};

}  // namespace

bool read_site_event(WordCursor& words, const When& when, Target target) {
  const auto* const verb = take_verb(kEventVerbs, words);
  if (verb != nullptr) {
    verb->read(words, when, target);
  }
  return verb != nullptr;
}

std::vector<std::string_view> site_event_words() { return words_of(kEventVerbs); }

}  // namespace firmware::sim::script
