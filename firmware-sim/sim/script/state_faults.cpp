// Faults that are no single exchange: of cables, boxes, sensors, transmitters and the clock of the
// logger's machine.
#include <algorithm>
#include <array>
#include <utility>

#include "firmware-sim/sim/script/statements.hpp"
#include "firmware-sim/sim/site/nearest_name.hpp"
#include "firmware-sim/sim/site/place/box_place.hpp"

namespace firmware::sim::script {
namespace {

constexpr std::array<std::string_view, 2> kOnOff{"off", "on"};
constexpr std::array<std::string_view, 8> kStatusWords{
    "ok",           "not_fitted", "no_answer", "open_circuit", "short_circuit",
    "out_of_range", "warming_up", "fault"};
constexpr double kMostDegrees = 400.0;
constexpr double kMostVolt = 6.0;  // of a cell, with room for what can't be
constexpr double kMicrosPerSecond = 1e6;

ScenarioAction action_of(ActionKind kind, std::optional<std::size_t> target = std::nullopt,
                         std::size_t channel = 0, double value = 0.0) {
  return {{}, kind, target, channel, value, 0};
}

// A switch: on at the begin, off at the end.
void put_switch(WordCursor& words, const When& when, Target target, const ScenarioAction& on) {
  ScenarioAction off = on;
  off.value = 0.0;
  put_state(words, when, target, on, off);
}

void read_unplug(WordCursor& words, const When& when, Target target) {
  const auto line = read_line_number(words);
  put_state(words, when, target, action_of(ActionKind::line_unplug, line),
            action_of(ActionKind::line_plug, line));
}

void read_plug(WordCursor& words, const When& when, Target target) {
  put_moments(words, when, target, action_of(ActionKind::line_plug, read_line_number(words)));
}

void read_swap(WordCursor& words, const When& when, Target target) {
  words.expect("line");
  const std::size_t first = words.whole(1, 247) - 1;
  words.expect("and");
  words.expect("line");
  const std::size_t second = words.whole(1, 247) - 1;
  if (words.ok() && first == second) {
    words.refuse("another line than the first");
  }
  const ScenarioAction swap = action_of(ActionKind::line_swap, first, second);
  put_state(words, when, target, swap, swap);
}

void read_echo(WordCursor& words, const When& when, Target target) {
  words.expect("on");
  put_switch(words, when, target, action_of(ActionKind::line_echo, read_line_number(words), 0, 1));
}

void read_babble(WordCursor& words, const When& when, Target target) {
  words.expect("on");
  const auto line = read_line_number(words);
  words.expect("of");
  const auto bytes = static_cast<double>(words.whole(1, 4096));
  words.expect("bytes");
  put_moments(words, when, target, action_of(ActionKind::line_babble, line, 0, bytes));
}

void read_reboot(WordCursor& words, const When& when, Target target) {
  put_moments(words, when, target, action_of(ActionKind::box_reboot, read_box_number(words)));
}

// "power off|on box N" and "power off|on transmitter N"
void read_power(WordCursor& words, const When& when, Target target) {
  const bool on = words.one_of(kOnOff) == 1;
  words.expect("of");
  if (words.peek() == "transmitter") {
    const auto index = read_transmitter_number(words);
    put_state(words, when, target, action_of(ActionKind::transmitter_power, index, 0, on ? 1 : 0),
              action_of(ActionKind::transmitter_power, index, 0, on ? 0 : 1));
    return;
  }
  const auto index = read_box_number(words);
  const auto kind = [](bool power) {
    return power ? ActionKind::box_power_on : ActionKind::box_power_off;
  };
  put_state(words, when, target, action_of(kind(on), index), action_of(kind(!on), index));
}

void read_drift(WordCursor& words, const When& when, Target target) {
  words.expect("of");
  const auto box = read_box_number(words);
  words.expect("to");
  const double ppm = words.real(-1000.0, 1000.0, "ppm");
  put_moments(words, when, target, action_of(ActionKind::box_drift, box, 0, ppm));
}

// "step clock of box N by +90s" and "step host clock by -1h"
void read_step(WordCursor& words, const When& when, Target target) {
  ScenarioAction action = action_of(ActionKind::host_clock_step);
  const bool host = words.take_if("host");
  words.expect("clock");
  if (!host) {
    words.expect("of");
    action = action_of(ActionKind::box_clock_step, read_box_number(words));
  }
  words.expect("by");
  action.value = static_cast<double>(words.signed_duration().count()) / kMicrosPerSecond;
  put_moments(words, when, target, action);
}

void read_host(WordCursor& words, const When& when, Target target, bool set) {
  words.expect("host");
  words.expect("clock");
  put_state(words, when, target,
            action_of(set ? ActionKind::host_clock_set : ActionKind::host_clock_unset),
            action_of(ActionKind::host_clock_set));
}
void read_unset(WordCursor& words, const When& when, Target target) {
  read_host(words, when, target, false);
}
void read_set(WordCursor& words, const When& when, Target target) {
  read_host(words, when, target, true);
}

// What of which device a fault is about.
struct Subject {
  bool is_box = true;
  std::optional<std::size_t> index;
  std::size_t channel = 0;
};

std::size_t register_at(WordCursor& words, Target target, std::size_t index,
                        const std::string& name) {
  if (index >= target.scenario.transmitters.size()) {
    words.refuse("a transmitter that was declared above");
    return 0;
  }
  const auto& registers = target.scenario.transmitters[index].transmitter.registers;
  const auto found = std::find_if(registers.begin(), registers.end(),
                                  [&](const auto& reg) { return reg.name == name; });
  if (found == registers.end()) {
    std::vector<std::string_view> names;
    for (const auto& reg : registers) {
      names.push_back(reg.name);
    }
    words.refuse_word(name, "a register of transmitter " + std::to_string(index + 1) +
                                " that was declared above" + site::nearest_text(name, names));
  }
  return static_cast<std::size_t>(found - registers.begin());
}

// "CHANNEL of box N" or "REGISTER of transmitter N"
Subject read_subject(WordCursor& words, Target target) {
  Subject subject;
  const std::string name = words.word("a channel of a box or a register of a transmitter");
  words.expect("of");
  if (words.peek() == "transmitter") {
    subject.is_box = false;
    subject.index = read_transmitter_number(words);
    subject.channel = words.ok() ? register_at(words, target, subject.index.value_or(0), name) : 0;
    return subject;
  }
  subject.index = read_box_number(words);
  const auto* const found = std::find(box::kChannelNames.begin(), box::kChannelNames.end(), name);
  if (words.ok() && found == box::kChannelNames.end()) {
    words.refuse_word(name, "a channel: air-t, air-rh, core-t, slab-t, slab-rh or supply" +
                                site::nearest_text(name, box::kChannelNames));
  }
  subject.channel = static_cast<std::size_t>(found - box::kChannelNames.begin());
  return subject;
}

ScenarioAction on_subject(const Subject& subject, ActionKind of_box, ActionKind of_transmitter,
                          double value = 0.0) {
  return action_of(subject.is_box ? of_box : of_transmitter, subject.index, subject.channel, value);
}

ScenarioAction freeing(const Subject& subject) {
  return on_subject(subject, ActionKind::sensor_free, ActionKind::register_free);
}

// "status WORD at CHANNEL of box N"
void read_status(WordCursor& words, const When& when, Target target) {
  const auto status = static_cast<double>(words.one_of(kStatusWords));
  words.expect("at");
  const Subject subject = read_subject(words, target);
  if (words.ok() && !subject.is_box) {
    words.refuse("a box, since a transmitter reports no status");
  }
  put_state(words, when, target,
            action_of(ActionKind::sensor_status, subject.index, subject.channel, status),
            action_of(ActionKind::sensor_status, subject.index, subject.channel, 0.0));
}

void read_hold(WordCursor& words, const When& when, Target target) {
  const Subject subject = read_subject(words, target);
  words.expect("at");
  const double value = words.real(-4.3e9, 4.3e9);
  put_state(words, when, target,
            on_subject(subject, ActionKind::sensor_hold, ActionKind::register_hold, value),
            freeing(subject));
}

void read_freeze(WordCursor& words, const When& when, Target target) {
  const Subject subject = read_subject(words, target);
  put_state(words, when, target,
            on_subject(subject, ActionKind::sensor_freeze, ActionKind::register_freeze),
            freeing(subject));
}

void read_free(WordCursor& words, const When& when, Target target) {
  const Subject subject = read_subject(words, target);
  put_moments(words, when, target, freeing(subject));
}

void read_spike(WordCursor& words, const When& when, Target target) {
  const Subject subject = read_subject(words, target);
  if (words.ok() && !subject.is_box) {
    words.refuse("a box, since a transmitter has no samples of its own");
  }
  words.expect("by");
  const double by = words.real(-kMostDegrees, kMostDegrees);
  put_moments(words, when, target,
              action_of(ActionKind::sensor_spike, subject.index, subject.channel, by));
}

void read_sag(WordCursor& words, const When& when, Target target) {
  words.expect("supply");
  words.expect("of");
  const auto box = read_box_number(words);
  words.expect("to");
  const double volt = words.real(0.0, kMostVolt, "V");
  put_state(words, when, target, action_of(ActionKind::supply_sag, box, 0, volt),
            action_of(ActionKind::supply_free, box));
}

void read_lid(WordCursor& words, const When& when, Target target, bool open) {
  words.expect("lid");
  words.expect("of");
  const auto box = read_box_number(words);
  put_state(words, when, target, action_of(ActionKind::lid, box, 0, open ? 1 : 0),
            action_of(ActionKind::lid, box, 0, open ? 0 : 1));
}
void read_open(WordCursor& words, const When& when, Target target) {
  read_lid(words, when, target, true);
}
void read_close(WordCursor& words, const When& when, Target target) {
  read_lid(words, when, target, false);
}

void read_tilt(WordCursor& words, const When& when, Target target) {
  put_switch(words, when, target, action_of(ActionKind::tilt, read_box_number(words), 0, 1));
}
void read_right(WordCursor& words, const When& when, Target target) {
  put_moments(words, when, target, action_of(ActionKind::tilt, read_box_number(words)));
}

void read_flip(WordCursor& words, const When& when, Target target) {
  words.expect("words");
  words.expect("of");
  put_switch(words, when, target,
             action_of(ActionKind::words_flip, read_transmitter_number(words), 0, 1));
}

void read_breathe(WordCursor& words, const When& when, Target target) {
  words.expect("on");
  put_moments(words, when, target, action_of(ActionKind::breath, read_box_number(words)));
}

// "place box N in WORD"; back in the room at the end of a span.
void read_place(WordCursor& words, const When& when, Target target) {
  const auto box = read_box_number(words);
  words.expect("in");
  const std::size_t place = words.one_of(site::place_names());
  const ScenarioAction back =
      action_of(ActionKind::box_place, box, 0, static_cast<double>(site::BoxPlace::room));
  ScenarioAction away = back;
  if (words.ok()) {
    away.value = static_cast<double>(*site::place_from_name(site::place_names()[place]));
  }
  put_state(words, when, target, away, back);
}

constexpr std::array<Verb<ReadTimed>, 24> kFaultVerbs{
    Verb<ReadTimed>{"unplug", read_unplug},   Verb<ReadTimed>{"plug", read_plug},
    Verb<ReadTimed>{"swap", read_swap},       Verb<ReadTimed>{"echo", read_echo},
    Verb<ReadTimed>{"babble", read_babble},   Verb<ReadTimed>{"reboot", read_reboot},
    Verb<ReadTimed>{"power", read_power},     Verb<ReadTimed>{"drift", read_drift},
    Verb<ReadTimed>{"step", read_step},       Verb<ReadTimed>{"status", read_status},
    Verb<ReadTimed>{"hold", read_hold},       Verb<ReadTimed>{"freeze", read_freeze},
    Verb<ReadTimed>{"free", read_free},       Verb<ReadTimed>{"spike", read_spike},
    Verb<ReadTimed>{"sag", read_sag},         Verb<ReadTimed>{"open", read_open},
    Verb<ReadTimed>{"close", read_close},     Verb<ReadTimed>{"tilt", read_tilt},
    Verb<ReadTimed>{"right", read_right},     Verb<ReadTimed>{"flip", read_flip},
    Verb<ReadTimed>{"unset", read_unset},     Verb<ReadTimed>{"set", read_set},
    Verb<ReadTimed>{"breathe", read_breathe}, Verb<ReadTimed>{"place", read_place}};

}  // namespace

bool read_state_fault(WordCursor& words, const When& when, Target target) {
  const auto* const verb = take_verb(kFaultVerbs, words);
  if (verb != nullptr) {
    verb->read(words, when, target);
  }
  return verb != nullptr;
}

std::vector<std::string_view> state_fault_words() { return words_of(kFaultVerbs); }

}  // namespace firmware::sim::script
