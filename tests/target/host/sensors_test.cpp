// Drivers on byte vectors. Check sums of the vectors were computed apart, by long division.
#include <array>
#include <catch2/catch.hpp>

#include "analysis/base/record.hpp"
#include "firmware-sim/target/sensors/humidity_sensor.hpp"
#include "firmware-sim/target/sensors/scripted_front_end.hpp"
#include "firmware-sim/target/sensors/slab_probe.hpp"
#include "firmware-sim/target/sensors/wired_front_end.hpp"
#include "tests/target/fake_ports.hpp"

using namespace firmware::target;
using analysis::base::ChannelStatus;

namespace {

constexpr HumidityPart kPart{.address = 0x40,
                             .measure_command = 0x1234,
                             .conversion_ms = 20,
                             .temperature = {-4500, 17500},
                             .humidity = {0, 10000}};
constexpr SlabProbeMap kMap{.unit = 7,
                            .function = 0x04,
                            .first_register = 0x10,
                            .quantity = 3,
                            .temperature_at = 0,
                            .humidity_at = 2,
                            .centi_per_count = 10,
                            .reply_within_ms = 300};
const Bytes kSlabRequest = bytes_from_hex("07 04 00 10 00 03 b1 a8");
// 20.1 deg C and 85.0 %RH in tenths, something else between them.
const Bytes kSlabReply = bytes_from_hex("07 04 06 00 c9 11 11 03 52 43 17");

constexpr SupplyScale kSupply{
    .full_count = 4095, .full_scale_mv = 8190, .low_below_mv = 3300, .good_from_mv = 3400};

constexpr ClimateReading kNoAnswer = climate_without_counts(ReadingStatus::no_answer);

template <class Status>
constexpr bool same(ReadingStatus here, Status there) {
  return static_cast<int>(here) == static_cast<int>(there);
}

}  // namespace

TEST_CASE("StatusesAreThoseTheLoggerKnows") {
  CHECK(same(ReadingStatus::ok, ChannelStatus::ok));
  CHECK(same(ReadingStatus::not_fitted, ChannelStatus::not_fitted));
  CHECK(same(ReadingStatus::no_answer, ChannelStatus::no_answer));
  CHECK(same(ReadingStatus::open_circuit, ChannelStatus::open_circuit));
  CHECK(same(ReadingStatus::short_circuit, ChannelStatus::short_circuit));
  CHECK(same(ReadingStatus::out_of_range, ChannelStatus::out_of_range));
  CHECK(same(ReadingStatus::warming_up, ChannelStatus::warming_up));
  CHECK(same(ReadingStatus::fault, ChannelStatus::fault));
}

TEST_CASE("Crc8OfKnownWords") {
  CHECK(crc8_of_word(0xbeef) == 0x92);
  CHECK(crc8_of_word(0x0000) == 0x81);
  CHECK(crc8_of_word(0xffff) == 0xac);
  CHECK(crc8_of_word(0x1234) == 0x37);
}

TEST_CASE("HumidityPartIsAskedAndReadAfterItsTime") {
  FakeI2c bus;
  HumiditySensor sensor(bus, kPart);
  ClimateReading reading;
  CHECK_FALSE(sensor.poll(0, reading));
  bus.answer = bytes_from_hex("66 66 93 80 00 a2");
  sensor.begin(1000);
  CHECK(bus.written == std::vector<Bytes>{{0x12, 0x34}});
  CHECK_FALSE(sensor.poll(1020, reading));
  CHECK(bus.reads == 0);
  REQUIRE(sensor.poll(1021, reading));
  // 0x6666 / 65535 = 0.4 exactly: -45 + 175 * 0.4 = 25.00 deg C; 0x8000 / 65535 = 0.5000076.
  CHECK(reading == ClimateReading{{2500, ReadingStatus::ok}, {5000, ReadingStatus::ok}});
  CHECK_FALSE(sensor.poll(1022, reading));
}

TEST_CASE("ScaleEndsAndTheWireAreKept") {
  FakeI2c bus;
  HumidityPart part = kPart;
  part.humidity = {0, 40000};
  HumiditySensor sensor(bus, part);
  ClimateReading reading;
  bus.answer = bytes_from_hex("ff ff ac ff ff ac");
  sensor.begin(0);
  REQUIRE(sensor.poll(21, reading));
  CHECK(reading == ClimateReading{{13000, ReadingStatus::ok}, {0, ReadingStatus::out_of_range}});
  bus.answer = bytes_from_hex("00 00 81 00 00 81");
  sensor.begin(100);
  REQUIRE(sensor.poll(121, reading));
  CHECK(reading == ClimateReading{{-4500, ReadingStatus::ok}, {0, ReadingStatus::ok}});
}

TEST_CASE("CountsAreRoundedToTheNearest") {
  FakeI2c bus;
  HumiditySensor sensor(bus, kPart);
  ClimateReading reading;
  // 17500 * 3 / 65535 = 0.80 and 10000 * 4 / 65535 = 0.61, both up.
  bus.answer = bytes_from_hex("00 03 d2 00 04 45");
  sensor.begin(0);
  REQUIRE(sensor.poll(21, reading));
  CHECK(reading == ClimateReading{{-4499, ReadingStatus::ok}, {1, ReadingStatus::ok}});
  bus.answer = bytes_from_hex("12 34 37 be ef 92");  // 1244.37 and 7458.46, both down
  sensor.begin(100);
  REQUIRE(sensor.poll(121, reading));
  CHECK(reading == ClimateReading{{-3256, ReadingStatus::ok}, {7458, ReadingStatus::ok}});
}

TEST_CASE("AnyFlippedBitFromTheHumidityPartIsNoAnswer") {
  FakeI2c bus;
  HumiditySensor sensor(bus, kPart);
  ClimateReading reading;
  const Bytes good = bytes_from_hex("66 66 93 80 00 a2");
  for (std::size_t bit = 0; bit < good.size() * 8; ++bit) {
    CAPTURE(bit);
    bus.answer = good;
    (*bus.answer)[bit / 8] ^= static_cast<std::uint8_t>(1U << (bit % 8));
    sensor.begin(bit * 100);
    REQUIRE(sensor.poll(bit * 100 + 21, reading));
    CHECK(reading == kNoAnswer);
  }
}

TEST_CASE("AHumidityPartThatIsNotThereOrNotReady") {
  FakeI2c bus;
  HumiditySensor sensor(bus, kPart);
  ClimateReading reading;
  bus.present = false;
  sensor.begin(0);
  REQUIRE(sensor.poll(0, reading));
  CHECK(reading == kNoAnswer);
  bus.present = true;
  sensor.begin(100);  // acknowledges the command, then stays busy
  CHECK_FALSE(sensor.poll(121, reading));
  CHECK_FALSE(sensor.poll(130, reading));
  REQUIRE(sensor.poll(131, reading));
  CHECK(reading == kNoAnswer);
  sensor.begin(200);
  CHECK_FALSE(sensor.poll(221, reading));
  bus.answer = bytes_from_hex("66 66 93 80 00 a2");
  REQUIRE(sensor.poll(225, reading));
  CHECK(reading.temperature.status == ReadingStatus::ok);
}

TEST_CASE("SlabProbeIsAskedAndRead") {
  FakeSerial line;
  SlabProbe probe(line, kMap);
  ClimateReading reading;
  CHECK_FALSE(probe.poll(0, reading));
  probe.begin(0);
  CHECK(line.sent == std::vector<Bytes>{kSlabRequest});
  for (const std::uint8_t byte : kSlabReply) {
    CHECK_FALSE(probe.poll(1, reading));
    line.give({byte});
  }
  REQUIRE(probe.poll(2, reading));
  CHECK(reading == ClimateReading{{2010, ReadingStatus::ok}, {8500, ReadingStatus::ok}});
  CHECK_FALSE(probe.poll(3, reading));
}

TEST_CASE("SlabProbeBelowZeroAndOutOfRange") {
  FakeSerial line;
  SlabProbe probe(line, kMap);
  ClimateReading reading;
  probe.begin(0);
  line.give(bytes_from_hex("07 04 06 ff ce 00 00 03 4d f6 29"));
  REQUIRE(probe.poll(1, reading));
  CHECK(reading == ClimateReading{{-500, ReadingStatus::ok}, {8450, ReadingStatus::ok}});
  probe.begin(10);
  line.give(bytes_from_hex("07 04 06 0c ee 00 00 03 e9 62 96"));  // 331.0 deg C, 100.1 %RH
  REQUIRE(probe.poll(11, reading));
  CHECK(reading ==
        ClimateReading{{0, ReadingStatus::out_of_range}, {0, ReadingStatus::out_of_range}});
}

TEST_CASE("AnExceptionOfTheSlabProbeIsItsFault") {
  FakeSerial line;
  SlabProbe probe(line, kMap);
  ClimateReading reading;
  probe.begin(0);
  line.give(bytes_from_hex("07 84 02 22 c0"));
  REQUIRE(probe.poll(1, reading));
  CHECK(reading == climate_without_counts(ReadingStatus::fault));
}

TEST_CASE("ASilentSlabProbeIsAskedTwice") {
  FakeSerial line;
  SlabProbe probe(line, kMap);
  ClimateReading reading;
  probe.begin(0);
  CHECK_FALSE(probe.poll(300, reading));
  CHECK(line.sent.size() == 1);
  CHECK_FALSE(probe.poll(301, reading));
  CHECK(line.sent.size() == 2);
  CHECK_FALSE(probe.poll(601, reading));
  REQUIRE(probe.poll(602, reading));
  CHECK(reading == kNoAnswer);
  CHECK(line.sent.size() == 2);
}

TEST_CASE("AnyFlippedBitFromTheSlabProbeGivesNoCounts") {
  ClimateReading reading;
  for (std::size_t bit = 0; bit < kSlabReply.size() * 8; ++bit) {
    CAPTURE(bit);
    FakeSerial line;
    SlabProbe probe(line, kMap);
    Bytes bad = kSlabReply;
    bad[bit / 8] ^= static_cast<std::uint8_t>(1U << (bit % 8));
    probe.begin(0);
    line.give(bad);
    CHECK_FALSE(probe.poll(1, reading));
    CHECK_FALSE(probe.poll(301, reading));  // asks again, what is left of the bad reply is dropped
    line.give(kSlabReply);
    REQUIRE(probe.poll(302, reading));
    CHECK(reading == ClimateReading{{2010, ReadingStatus::ok}, {8500, ReadingStatus::ok}});
  }
}

TEST_CASE("ALateReplyIsNotTakenForTheNextMeasurement") {
  FakeSerial line;
  SlabProbe probe(line, kMap);
  ClimateReading reading;
  line.give(bytes_from_hex("07 04 06 ff ce 00 00 03 4d f6 29"));
  probe.begin(0);
  CHECK_FALSE(probe.poll(1, reading));
  line.give(kSlabReply);
  REQUIRE(probe.poll(2, reading));
  CHECK(reading.temperature.counts == 2010);
}

TEST_CASE("TheWiredFrontEndWaitsForAllItsSensors") {
  FakeI2c air_bus;
  FakeI2c core_bus;
  FakeSerial line;
  HumiditySensor air(air_bus, kPart);
  HumiditySensor core(core_bus, kPart);
  SlabProbe slab(line, kMap);
  FakeConverter converter;
  SupplyMonitor supply(converter, kSupply);
  FakePin lid_pin;
  FakePin tilt_pin;
  Contact lid(lid_pin, {.active_high = true, .hold_ms = 30});
  Contact tilt(tilt_pin, {.active_high = false, .hold_ms = 30});
  WiredFrontEnd front_end({air, core, slab, supply, lid, tilt});
  tilt_pin.level = true;
  converter.counts = 1999;
  firmware::core::Sample sample;
  CHECK_FALSE(front_end.poll(0, sample));
  air_bus.answer = bytes_from_hex("66 66 93 80 00 a2");
  core_bus.present = false;
  front_end.begin(0);
  CHECK_FALSE(front_end.poll(21, sample));
  air_bus.answer.reset();  // what was read stays
  line.give(kSlabReply);
  REQUIRE(front_end.poll(40, sample));
  CHECK(sample.raw_counts == std::array<std::int16_t, 8>{2500, 5000, 0, 2010, 8500, 3998, 0, 0});
  CHECK(sample.statuses == std::array<std::uint8_t, 8>{0, 0, 2, 0, 0, 0, 1, 1});
  CHECK(sample.flags == 0);
  CHECK_FALSE(front_end.poll(41, sample));
}

TEST_CASE("LidTiltAndSupplyBecomeFlagsOfTheRecord") {
  FakeI2c bus;
  FakeSerial line;
  HumiditySensor air(bus, kPart);
  HumiditySensor core(bus, kPart);
  SlabProbe slab(line, kMap);
  FakeConverter converter;
  SupplyMonitor supply(converter, kSupply);
  FakePin lid_pin;
  FakePin tilt_pin;
  Contact lid(lid_pin, {.active_high = true, .hold_ms = 30});
  Contact tilt(tilt_pin, {.active_high = true, .hold_ms = 30});
  WiredFrontEnd front_end({air, core, slab, supply, lid, tilt});
  bus.present = false;
  std::uint64_t now_ms = 0;
  const auto watch_for = [&](std::uint64_t ms) {
    for (const std::uint64_t end = now_ms + ms; now_ms < end; ++now_ms) {
      front_end.watch(now_ms);
    }
  };
  const auto flags = [&] {
    firmware::core::Sample sample;
    front_end.begin(now_ms);
    line.give(kSlabReply);
    REQUIRE(front_end.poll(now_ms, sample));
    return sample.flags;
  };
  converter.counts = 1999;
  watch_for(100);
  CHECK(flags() == 0);
  lid_pin.level = true;
  watch_for(40);
  lid_pin.level = false;  // opened and shut again between two samples
  watch_for(40);
  CHECK(flags() == firmware::core::kFlagLidOpen);
  CHECK(flags() == 0);
  tilt_pin.level = true;
  watch_for(40);
  CHECK(flags() == firmware::core::kFlagTilted);
  CHECK(flags() == firmware::core::kFlagTilted);
  converter.counts = 1000;
  CHECK(flags() == (firmware::core::kFlagTilted | firmware::core::kFlagSupplyLow));
}

TEST_CASE("TheScriptedFrontEndGivesWhatTheControlBlockSays") {
  ControlBlock control{};
  control.raw_counts[0] = -4000;
  control.raw_counts[7] = 32767;
  control.statuses[3] = 7;
  control.flags = 5;
  ScriptedFrontEnd front_end(control);
  firmware::core::Sample sample;
  CHECK_FALSE(front_end.poll(0, sample));
  front_end.begin(0);
  REQUIRE(front_end.poll(0, sample));
  CHECK(sample.raw_counts == std::array<std::int16_t, 8>{-4000, 0, 0, 0, 0, 0, 0, 32767});
  CHECK(sample.statuses == std::array<std::uint8_t, 8>{0, 0, 0, 7, 0, 0, 0, 0});
  CHECK(sample.flags == 5);
  CHECK_FALSE(front_end.poll(0, sample));
}
