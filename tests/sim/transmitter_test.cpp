// A register device shows the truth in the format its map declares.
#include "firmware-sim/sim/box/transmitter.hpp"

#include <bit>
#include <catch2/catch.hpp>

#include "firmware-sim/core/modbus_frame.hpp"
#include "tests/sim/line_end.hpp"

using namespace firmware::sim::box;
using namespace firmware::core;
using namespace sim_test;
using analysis::base::Celsius;
using analysis::base::RelativeHumidity;

namespace {

constexpr std::uint8_t kUnit = 20;

firmware::sim::site::SiteState truth(double celsius, double rh_fraction) {
  firmware::sim::site::SiteState state;
  state.air_temperature = Celsius{celsius};
  state.air_rh = RelativeHumidity{rh_fraction};
  return state;
}

// The words of the register at address 5, read with function 3.
std::vector<unsigned> words(TransmitterRegister reg, double celsius, double rh_fraction,
                            bool flipped = false) {
  reg.address = 5;
  Transmitter device({kUnit, 24.0, {reg}}, 1);
  device.set_words_flipped(flipped);
  const std::size_t count = register_count_of(reg.type);
  const auto reply = device.answer(read_request(kUnit, 5, static_cast<std::uint16_t>(count)),
                                   truth(celsius, rh_fraction));
  REQUIRE(reply.size() == 5 + 2 * count);
  std::vector<unsigned> result;
  for (std::size_t i = 0; i < count; ++i) {
    result.push_back(unsigned{reply[3 + 2 * i]} << 8U | reply[4 + 2 * i]);
  }
  return result;
}

TransmitterRegister measuring(Quantity quantity, NumberType type, double scale = 1.0) {
  TransmitterRegister reg;
  reg.quantity = quantity;
  reg.type = type;
  reg.scale = scale;
  return reg;
}

}  // namespace

TEST_CASE("NumbersStandInTheRegistersAsDeclared") {
  const auto tenths = measuring(Quantity::air_temperature, NumberType::i16, 0.1);
  CHECK(words(tenths, -40.0, 0.5) == std::vector<unsigned>{0x10000 - 400});
  CHECK(words(tenths, 0.04, 0.5) == std::vector<unsigned>{0});
  CHECK(words(tenths, 4000.0, 0.5) == std::vector<unsigned>{0x7fff});  // no further
  CHECK(words(measuring(Quantity::air_rh, NumberType::u16, 0.1), 20.0, 1.0) ==
        std::vector<unsigned>{1000});
  auto wide = measuring(Quantity::air_temperature, NumberType::i32, 0.001);
  CHECK(words(wide, -1.0, 0.5) == std::vector<unsigned>{0xffff, 0x10000 - 1000});
  CHECK(words(wide, -1.0, 0.5, true) == std::vector<unsigned>{0x10000 - 1000, 0xffff});
  wide.low_word_first = true;
  CHECK(words(wide, -1.0, 0.5) == std::vector<unsigned>{0x10000 - 1000, 0xffff});
  const auto bits = std::bit_cast<std::uint32_t>(21.5F);
  CHECK(words(measuring(Quantity::air_temperature, NumberType::f32), 21.5, 0.5) ==
        std::vector<unsigned>{bits >> 16U, bits & 0xffffU});
}

TEST_CASE("UnitsAndOffsetsAreApplied") {
  auto reg = measuring(Quantity::air_temperature, NumberType::i16, 0.1);
  reg.fahrenheit = true;
  CHECK(words(reg, 20.0, 0.5) == std::vector<unsigned>{680});
  reg = measuring(Quantity::air_rh, NumberType::u16, 0.01);
  reg.fraction = true;
  CHECK(words(reg, 20.0, 0.55) == std::vector<unsigned>{55});
  reg = measuring(Quantity::supply, NumberType::u16);
  reg.millivolt = true;
  CHECK(words(reg, 20.0, 0.5) == std::vector<unsigned>{24000});
  reg = measuring(Quantity::air_temperature, NumberType::u16, 0.1);
  reg.offset = -50.0;
  CHECK(words(reg, -10.0, 0.5) == std::vector<unsigned>{400});
}

TEST_CASE("WhatIsNotThereIsRefusedAndWhatIsNotForItUnanswered") {
  Transmitter device({kUnit, 24.0, {measuring(Quantity::air_rh, NumberType::u16)}}, 1);
  const auto state = truth(20.0, 0.5);
  const auto exception = [&](const std::vector<std::uint8_t>& frame) {
    const auto reply = device.answer(frame, state);
    return reply.size() == 5 ? reply[2] : 0;
  };
  CHECK(device.answer(read_request(kUnit, 0, 1), state).size() == 7);
  CHECK(exception(read_request(kUnit, 0, 2)) == kIllegalDataAddress);
  CHECK(exception(read_request(kUnit, 1, 1)) == kIllegalDataAddress);
  CHECK(device.answer(read_request(kUnit + 1, 0, 1), state).empty());
  auto broken = read_request(kUnit, 0, 1);
  broken.back() ^= 1U;
  CHECK(device.answer(broken, state).empty());
  device.set_powered(false);
  CHECK(device.answer(read_request(kUnit, 0, 1), state).empty());
}

TEST_CASE("AHeldOrFrozenRegisterIgnoresTheTruth") {
  Transmitter device({kUnit, 24.0, {measuring(Quantity::air_rh, NumberType::u16)}}, 1);
  const auto shown = [&](double rh_fraction) {
    return device.answer(read_request(kUnit, 0, 1), truth(20.0, rh_fraction)).at(4);
  };
  CHECK(shown(0.5) == 50);
  device.freeze(0);
  CHECK(shown(0.7) == 50);
  device.free(0);
  device.hold(0, 99.0);
  CHECK(shown(0.7) == 99);
  device.free(0);
  CHECK(shown(0.7) == 70);
}
