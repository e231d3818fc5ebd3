// Boxes and transmitters, as a script declares them.
#include <array>
#include <limits>
#include <utility>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/sim/script/statements.hpp"

namespace firmware::sim::script {
namespace {

constexpr std::uint64_t kMostDevices = core::kMaxUnit;
constexpr std::uint64_t kMostLines = 16;
constexpr std::uint64_t kFirstSerial = 1001;
constexpr std::uint64_t kKibibyte = 1024;
constexpr std::uint64_t kAny = std::numeric_limits<std::uint64_t>::max();

constexpr std::array<std::string_view, 7> kBoxWords{"serial", "unit",   "line",    "interval",
                                                    "drift",  "memory", "power-on"};
constexpr std::array<std::string_view, 3> kTransmitterWords{"unit", "line", "supply"};
constexpr std::array<std::string_view, 8> kQuantityWords{
    "air-temperature",  "air-rh",
    "core-temperature", "slab-surface-temperature",
    "slab-rh",          "outdoor-temperature",
    "outdoor-rh",       "supply"};
constexpr std::array<std::string_view, 5> kTypeWords{"i16", "u16", "i32", "u32", "f32"};
constexpr std::array<std::string_view, 9> kRegisterWords{
    "measures", "function", "at", "type", "scale", "offset", "words", "unit", "noise"};
constexpr std::array<std::string_view, 2> kOrderWords{"high-first", "low-first"};
constexpr std::array<std::string_view, 6> kUnitWords{"celsius",     "fahrenheit", "percent_rh",
                                                     "rh_fraction", "volt",       "millivolt"};

void expect_next_number(WordCursor& words, std::size_t count, std::string_view what) {
  const std::uint64_t number = words.whole(1, kMostDevices);
  if (words.ok() && number != count + 1) {
    words.refuse(std::string(what) + " " + std::to_string(count + 1) +
                 ", since they are numbered in order");
  }
}

std::uint16_t read_interval(WordCursor& words) {
  constexpr std::int64_t kSecond = 1'000'000;
  const std::int64_t us = words.duration().count();
  if (words.ok() &&
      (us % kSecond != 0 || us < kSecond || us > core::kMaxSampleIntervalS * kSecond)) {
    words.refuse("1s to 3600s in whole seconds");
  }
  return static_cast<std::uint16_t>(us / kSecond);
}

}  // namespace

void read_box(WordCursor& words, Target target) {
  const std::size_t count = target.scenario.boxes.size();
  expect_next_number(words, count, "box");
  ScenarioBox placed;
  placed.box.serial = kFirstSerial + count;
  placed.box.unit = static_cast<std::uint8_t>(count + 1);
  while (words.ok() && !words.at_end()) {
    switch (words.one_of(kBoxWords)) {
      case 0:
        placed.box.serial = words.whole(1, kAny);
        break;
      case 1:
        placed.box.unit = static_cast<std::uint8_t>(words.whole(1, core::kMaxUnit));
        break;
      case 2:
        placed.line = words.whole(1, kMostLines) - 1;
        break;
      case 3:
        placed.box.sample_interval_s = read_interval(words);
        break;
      case 4:
        placed.box.drift_ppm = words.real(-1000.0, 1000.0, "ppm");
        break;
      case 5:
        placed.box.memory_bytes =
            kKibibyte * static_cast<std::uint64_t>(words.real(4, 65536, "KiB"));
        break;
      default:
        placed.box.power_on_after_start = words.duration();
        break;
    }
  }
  if (words.ok()) {
    target.scenario.boxes.push_back(std::move(placed));
  }
}

void read_transmitter(WordCursor& words, Target target) {
  const std::size_t count = target.scenario.transmitters.size();
  expect_next_number(words, count, "transmitter");
  ScenarioTransmitter placed;
  placed.transmitter.unit = static_cast<std::uint8_t>(20 + count);
  while (words.ok() && !words.at_end()) {
    switch (words.one_of(kTransmitterWords)) {
      case 0:
        placed.transmitter.unit = static_cast<std::uint8_t>(words.whole(1, core::kMaxUnit));
        break;
      case 1:
        placed.line = words.whole(1, kMostLines) - 1;
        break;
      default:
        placed.transmitter.supply_volt = words.real(0.0, 60.0, "V");
        break;
    }
  }
  if (words.ok()) {
    target.scenario.transmitters.push_back(std::move(placed));
  }
}

void read_register(WordCursor& words, Target target) {
  box::TransmitterRegister reg;
  reg.name = words.word("the register's name");
  words.expect("of");
  const auto number = read_transmitter_number(words);
  if (words.ok() && (!number || *number >= target.scenario.transmitters.size())) {
    words.refuse("a transmitter that was declared above");
  }
  bool measures = false;
  while (words.ok() && !words.at_end()) {
    switch (words.one_of(kRegisterWords)) {
      case 0:
        reg.quantity = static_cast<box::Quantity>(words.one_of(kQuantityWords));
        measures = true;
        break;
      case 1:
        reg.function = static_cast<std::uint8_t>(words.whole(3, 4));
        break;
      case 2:
        reg.address = static_cast<std::uint16_t>(words.whole(0, 65535));
        break;
      case 3:
        reg.type = static_cast<box::NumberType>(words.one_of(kTypeWords));
        break;
      case 4:
        reg.scale = words.real(-1e6, 1e6);
        break;
      case 5:
        reg.offset = words.real(-1e6, 1e6);
        break;
      case 6:
        reg.low_word_first = words.one_of(kOrderWords) == 1;
        break;
      case 7: {
        const std::size_t unit = words.one_of(kUnitWords);
        reg.fahrenheit = unit == 1;
        reg.fraction = unit == 3;
        reg.millivolt = unit == 5;
        break;
      }
      default:
        reg.noise_sd = words.real(0.0, 100.0);
        break;
    }
  }
  if (words.ok() && (!measures || reg.scale == 0.0)) {
    words.refuse(measures ? "a scale that is not 0" : "'measures' and what it measures");
  }
  if (words.ok()) {
    target.scenario.transmitters[*number].transmitter.registers.push_back(std::move(reg));
  }
}

}  // namespace firmware::sim::script
