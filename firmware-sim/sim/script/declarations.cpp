// Boxes and transmitters, as a script declares them.
#include <algorithm>
#include <array>
#include <limits>
#include <optional>
#include <string>
#include <utility>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/sim/script/statements.hpp"

namespace firmware::sim::script {
namespace {

constexpr std::uint64_t kMostDevices = core::kMaxUnit;
constexpr std::uint64_t kMostLines = 16;
constexpr std::uint32_t kLastAddress = 65535;
constexpr std::uint64_t kKibibyte = 1024;

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

// A register as far as its words have been read.
struct DeclaredRegister {
  box::TransmitterRegister reg;
  bool measures = false;
  std::optional<std::size_t> unit;  // of kUnitWords
  std::optional<double> scale;
  std::optional<std::uint16_t> address;
};

void read_register_word(WordCursor& words, DeclaredRegister& declared) {
  box::TransmitterRegister& reg = declared.reg;
  switch (words.one_of(kRegisterWords)) {
    case 0:
      reg.quantity = static_cast<box::Quantity>(words.one_of(kQuantityWords));
      declared.measures = true;
      break;
    case 1:
      reg.function = static_cast<std::uint8_t>(words.whole(3, 4));
      break;
    case 2:
      declared.address = static_cast<std::uint16_t>(words.whole(0, kLastAddress));
      break;
    case 3:
      reg.type = static_cast<box::NumberType>(words.one_of(kTypeWords));
      break;
    case 4:
      declared.scale = words.real(-1e6, 1e6);
      break;
    case 5:
      reg.offset = words.real(-1e6, 1e6);
      break;
    case 6:
      reg.low_word_first = words.one_of(kOrderWords) == 1;
      break;
    case 7:
      declared.unit = words.one_of(kUnitWords);
      break;
    default:
      reg.noise_sd = words.real(0.0, 100.0);
      break;
  }
}

// Units come in pairs, one pair for each kind of quantity.
std::size_t first_unit_of(box::Quantity quantity) {
  switch (quantity) {
    case box::Quantity::air_rh:
    case box::Quantity::slab_rh:
    case box::Quantity::outdoor_rh:
      return 2;
    case box::Quantity::supply:
      return 4;
    default:
      return 0;
  }
}

void check_declared(WordCursor& words, const DeclaredRegister& declared) {
  if (!declared.measures) {
    words.refuse("'measures' and what it measures");
    return;
  }
  if (declared.scale == 0.0) {
    words.refuse_word("scale 0", "a scale that is not 0");
  }
  const std::size_t first = first_unit_of(declared.reg.quantity);
  if (declared.unit && *declared.unit / 2 != first / 2) {
    words.refuse_word(
        "unit " + std::string(kUnitWords[*declared.unit]),
        std::string(kUnitWords[first]) + " or " + std::string(kUnitWords[first + 1]) + " for " +
            std::string(kQuantityWords[static_cast<std::size_t>(declared.reg.quantity)]));
  }
}

std::uint32_t end_of(const box::TransmitterRegister& reg) {
  return reg.address + static_cast<std::uint32_t>(box::register_count_of(reg.type));
}

// The first of `registers` that shares a word with `reg`; nullptr when none does.
const box::TransmitterRegister* shared_with(
    const box::TransmitterRegister& reg, const std::vector<box::TransmitterRegister>& registers) {
  const auto found = std::find_if(registers.begin(), registers.end(), [&](const auto& other) {
    return other.function == reg.function && other.address < end_of(reg) &&
           reg.address < end_of(other);
  });
  return found == registers.end() ? nullptr : &*found;
}

double default_scale(const box::TransmitterRegister& reg) {
  if (reg.type == box::NumberType::f32 || reg.millivolt) {
    return 1.0;
  }
  return reg.fraction ? 0.0001 : 0.01;
}

// What was left out, and where it stands among `registers`, those declared before it.
void complete(WordCursor& words, DeclaredRegister& declared,
              const std::vector<box::TransmitterRegister>& registers) {
  box::TransmitterRegister& reg = declared.reg;
  const std::string unit{kUnitWords[declared.unit.value_or(first_unit_of(reg.quantity))]};
  reg.fahrenheit = unit == "fahrenheit";
  reg.fraction = unit == "rh_fraction";
  reg.millivolt = unit == "millivolt";
  reg.scale = declared.scale.value_or(default_scale(reg));
  std::uint32_t address = declared.address.value_or(0);
  for (const box::TransmitterRegister& other : registers) {
    if (!declared.address && other.function == reg.function) {
      address = std::max(address, end_of(other));
    }
    if (other.name == reg.name) {
      words.refuse_word(reg.name, "a name that no other register of the transmitter has");
    }
  }
  const std::string at = "at " + std::to_string(address);
  reg.address = static_cast<std::uint16_t>(address);
  if (address > kLastAddress || end_of(reg) > kLastAddress + 1) {
    words.refuse_word(at, "all of its words at 0 to " + std::to_string(kLastAddress));
    return;
  }
  if (const auto* const other = shared_with(reg, registers); other != nullptr) {
    words.refuse_word(at, "an address that is free; register '" + other->name + "' has " +
                              std::to_string(other->address) + " to " +
                              std::to_string(end_of(*other) - 1) + " of function " +
                              std::to_string(reg.function));
  }
}

}  // namespace

void read_box(WordCursor& words, Target target) {
  const std::size_t count = target.scenario.boxes.size();
  expect_next_number(words, count, "box");
  ScenarioBox placed;
  placed.script_line = target.script_line;
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
  placed.script_line = target.script_line;
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
  DeclaredRegister declared;
  declared.reg.name = words.word("the register's name");
  words.expect("of");
  const auto number = read_transmitter_number(words);
  if (words.ok() && (!number || *number >= target.scenario.transmitters.size())) {
    words.refuse("a transmitter that was declared above");
  }
  while (words.ok() && !words.at_end()) {
    read_register_word(words, declared);
  }
  if (!words.ok()) {
    return;
  }
  auto& registers = target.scenario.transmitters[*number].transmitter.registers;
  check_declared(words, declared);
  complete(words, declared, registers);
  if (words.ok()) {
    registers.push_back(std::move(declared.reg));
  }
}

}  // namespace firmware::sim::script
