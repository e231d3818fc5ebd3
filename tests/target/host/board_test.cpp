// Pins and wires of the board: supply, contacts, I2C by hand, and the gate of an RS-485 line.
#include <catch2/catch.hpp>
#include <cstdint>
#include <vector>

#include "firmware-sim/target/box_loop.hpp"
#include "firmware-sim/target/sensors/contact.hpp"
#include "firmware-sim/target/sensors/i2c_bus.hpp"
#include "firmware-sim/target/sensors/supply_monitor.hpp"
#include "firmware-sim/target/transmit_gate.hpp"
#include "tests/target/fake_ports.hpp"

using namespace firmware::target;

namespace {

constexpr SupplyScale kSupply{
    .full_count = 4095, .full_scale_mv = 6600, .low_below_mv = 3300, .good_from_mv = 3400};

// A transmitter with a holding register that says when it runs empty, a timer, and the driver.
struct LineBench {
  struct Pin final : OutputPin {
    explicit Pin(LineBench& of) : bench(of) {}
    void set(bool high) override {
      if (high != bench.driven) {
        bench.driven = high;
        (high ? bench.on_us : bench.off_us).push_back(bench.now_us);
      }
    }
    LineBench& bench;
  };
  struct Timer final : OneShotTimer {
    explicit Timer(LineBench& of) : bench(of) {}
    void start_us(std::uint32_t us) override { bench.due_us = bench.now_us + us; }
    LineBench& bench;
  };

  explicit LineBench(std::uint32_t baud) : character_us(11e6 / baud), gate(pin, timer, baud) {}

  // Until `us`; the timer ends on the way if it is due.
  void run_until(double us) {
    if (due_us >= 0 && due_us <= us) {
      now_us = due_us;
      due_us = -1;
      gate.on_timer();
    }
    now_us = us;
  }
  // Sends `bytes` characters, the interrupt of the last one `late_us` late; gives the end of the
  // last stop bit.
  double send(int bytes, double late_us) {
    gate.open();
    const double begin = now_us;
    run_until(begin + (bytes - 1) * character_us + late_us);
    gate.last_byte_begun();
    return begin + bytes * character_us;
  }

  double character_us;
  double now_us = 0;
  double due_us = -1;
  bool driven = true;  // as a pin floats before it is set
  std::vector<double> on_us;
  std::vector<double> off_us;
  Pin pin{*this};
  Timer timer{*this};
  TransmitGate gate;
};

}  // namespace

TEST_CASE("SupplyCountsBecomeMillivolts") {
  FakeConverter input;
  SupplyMonitor monitor(input, kSupply);
  input.counts = 2048;
  CHECK(monitor.measure() == Reading{3301, ReadingStatus::ok});  // 3300.8
  input.counts = 0;
  CHECK(monitor.measure() == Reading{0, ReadingStatus::ok});
  input.counts = 4094;
  CHECK(monitor.measure() == Reading{6598, ReadingStatus::ok});
  input.counts = 4095;
  CHECK(monitor.measure() == Reading{0, ReadingStatus::out_of_range});
  SupplyMonitor wide(input, {.full_count = 4095, .full_scale_mv = 60000});
  input.counts = 2300;  // 33.7 V: more than the wire can carry
  CHECK(wide.measure().status == ReadingStatus::out_of_range);
}

TEST_CASE("TheLowFlagOfTheSupplyHasHysteresis") {
  FakeConverter input;
  SupplyMonitor monitor(input, kSupply);
  const auto low_at = [&](int mv) {
    input.counts = static_cast<std::uint16_t>((mv * 4095 + 3300) / 6600);
    REQUIRE(monitor.measure().counts == Approx(mv).margin(1));
    return monitor.is_low();
  };
  CHECK_FALSE(monitor.is_low());
  CHECK_FALSE(low_at(3303));
  CHECK(low_at(3297));
  CHECK(low_at(3303));
  CHECK(low_at(3397));
  CHECK_FALSE(low_at(3402));
  CHECK_FALSE(low_at(3303));
  CHECK(low_at(3297));
  input.counts = 4095;  // tells nothing
  REQUIRE(monitor.measure().status == ReadingStatus::out_of_range);
  CHECK(monitor.is_low());
}

TEST_CASE("AContactCountsOnceItHasHeld") {
  struct Level {
    std::uint64_t until_ms;
    bool high;
  };
  FakePin pin;
  Contact contact(pin, {.active_high = true, .hold_ms = 30});
  // Bounces for 25 ms, stays, bounces, goes.
  const std::vector<Level> levels{{100, false}, {105, true}, {112, false}, {125, true},
                                  {126, false}, {300, true}, {310, false}, {315, true},
                                  {400, false}, {420, true}, {500, false}};
  std::vector<std::uint64_t> changes;
  std::uint64_t now_ms = 0;
  for (const Level& level : levels) {
    pin.level = level.high;
    for (; now_ms < level.until_ms; ++now_ms) {
      const bool before = contact.is_active();
      contact.watch(now_ms);
      if (contact.is_active() != before) {
        changes.push_back(now_ms);
      }
    }
  }
  CHECK(changes == std::vector<std::uint64_t>{156, 345});
}

TEST_CASE("AContactThatHasComeAndGoneIsToldOnce") {
  FakePin pin;
  Contact contact(pin, {.active_high = false, .hold_ms = 10});
  pin.level = true;
  contact.watch(0);
  CHECK_FALSE(contact.take_seen());
  pin.level = false;
  contact.watch(100);
  contact.watch(110);
  pin.level = true;
  contact.watch(200);
  contact.watch(210);
  CHECK_FALSE(contact.is_active());
  CHECK(contact.take_seen());
  CHECK_FALSE(contact.take_seen());
}

TEST_CASE("BytesCrossTheTwoWires") {
  FakeWires wires;
  wires.stretch_us = GENERATE(0U, 3U, 40U);
  CAPTURE(wires.stretch_us);
  wires.answer = bytes_from_hex("66 00 ff 80 01 a2");
  I2cBus bus(wires);
  const Bytes out = bytes_from_hex("12 00 ff a5");
  REQUIRE(bus.write(0x40, out));
  CHECK(wires.written == out);
  Bytes in(6);
  REQUIRE(bus.read(0x40, in));
  CHECK(in == wires.answer);
  CHECK(wires.starts == 2);
  CHECK(wires.stops == 2);
  CHECK_FALSE(bus.write(0x41, out));
  CHECK_FALSE(bus.read(0x41, in));
  CHECK(wires.written == out);
}

TEST_CASE("AClockHeldTooLongFailsTheTransferInBoundedTime") {
  FakeWires wires;
  wires.answer = bytes_from_hex("66 00 ff 80 01 a2");
  I2cBus bus(wires);
  Bytes in(6);
  wires.stretch_us = GENERATE(200U, 1'000'000'000U);
  CAPTURE(wires.stretch_us);
  CHECK_FALSE(bus.read(0x40, in));
  CHECK(wires.now_us < 3 * I2cBus::kStretchUs);
  CHECK_FALSE(bus.write(0x40, in));
  CHECK(wires.now_us < 6 * I2cBus::kStretchUs);
}

TEST_CASE("ABusHeldByAnInterruptedPartIsFreed") {
  FakeWires wires;
  wires.stuck_clocks = GENERATE(0, 1, 9, 10);
  CAPTURE(wires.stuck_clocks);
  const bool can_be_freed = wires.stuck_clocks < 10;
  I2cBus bus(wires);
  CHECK(bus.write(0x40, bytes_from_hex("12 34")) == can_be_freed);
  CHECK(wires.written.empty() != can_be_freed);
}

TEST_CASE("TheDriverIsOnFromTheFirstBitToTheLastStopBit") {
  const std::uint32_t baud = GENERATE(9600U, 19200U, 115200U);
  const int bytes = GENERATE(1, 8, 217);
  const double late_us = GENERATE(0.0, 30.0);
  CAPTURE(baud, bytes, late_us);
  LineBench bench(baud);
  CHECK_FALSE(bench.driven);  // a box that starts leaves the line to others
  bench.off_us.clear();
  bench.run_until(1000);
  const double last_stop_us = bench.send(bytes, late_us);
  bench.run_until(1e9);
  REQUIRE(bench.on_us.size() == 1);
  REQUIRE(bench.off_us.size() == 1);
  CHECK(bench.on_us[0] <= 1000);
  CHECK(bench.off_us[0] >= last_stop_us);
  CHECK(bench.off_us[0] <= last_stop_us + late_us + 1);
}

TEST_CASE("AReplyThatFollowsAtOnceKeepsTheDriverOn") {
  LineBench bench(19200);
  bench.on_us.clear();
  bench.off_us.clear();
  const double first_end = bench.send(4, 0);
  bench.run_until(first_end - 100);
  bench.gate.open();  // its first byte waits behind the last one of the reply before
  bench.run_until(first_end + 200);
  CHECK(bench.driven);
  bench.gate.last_byte_begun();
  bench.run_until(1e9);
  CHECK(bench.on_us.size() == 1);
  CHECK(bench.off_us.size() == 1);
}

TEST_CASE("AReplyWaitsForMoreThanTheSilenceOfItsLine") {
  // 3.5 characters of 11 bits: 4.01 ms and 2.01 ms; 1.75 ms above 19,200 baud.
  CHECK(reply_after_ms_from_baud(9600) == 6);
  CHECK(reply_after_ms_from_baud(19200) == 4);
  CHECK(reply_after_ms_from_baud(115200) == 3);
}
