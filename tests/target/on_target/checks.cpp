// Unit tests that run on the emulated CPU: the same core, compiled as for the box. What a host test
// can't show: the compiler, word sizes, our own memory functions, interrupts and ticks.
#include <array>
#include <cstdint>
#include <cstring>
#include <span>

#include "firmware-sim/core/crc.hpp"
#include "firmware-sim/core/probe_box.hpp"
#include "firmware-sim/target/flash_model.hpp"
#include "firmware-sim/target/machine/board.hpp"
#include "firmware-sim/target/machine/pins.hpp"
#include "firmware-sim/target/machine/uart.hpp"
#include "firmware-sim/target/sensors/humidity_sensor.hpp"
#include "firmware-sim/target/sensors/i2c_bus.hpp"
#include "tests/target/on_target/semihosting.hpp"

// The contract with its example frames, as it is.
asm(".section .rodata.register_map\n"
    ".global register_map_text\n"
    "register_map_text: .incbin \"hardware/register-map.md\"\n"
    ".byte 0\n"
    ".text\n");
extern "C" const char register_map_text[];

namespace target_test {
namespace {

using namespace firmware::core;
namespace target = firmware::target;
namespace machine = firmware::target::machine;

struct Tally {
  std::uint32_t checks = 0;
  std::uint32_t failures = 0;

  void check(bool holds, const char* what) {
    ++checks;
    if (!holds) {
      ++failures;
      print("FAILED: ");
      print(what);
      print("\n");
    }
  }
};

// The power comes back at once; the model it was taken from stays dead.
class Outage final : public target::PowerLoss {
 public:
  void power_lost() override { happened = true; }
  bool happened = false;
};

void print_number(std::uint32_t number) {
  std::array<char, 12> text{};
  std::size_t at = text.size() - 1;
  do {
    text[--at] = static_cast<char>('0' + number % 10);
    number /= 10;
  } while (number > 0);
  print(text.data() + at);
}

void check_memory_functions(Tally& tally) {
  std::array<char, 9> text{'a', 'b', 'c', 'd', 'e', 'f', 'g', 'h', 0};
  volatile std::size_t length = 6;  // kept from the compiler, so that it calls
  std::memmove(text.data() + 2, text.data(), length);
  tally.check(std::memcmp(text.data(), "ababcdef", 8) == 0, "memmove upwards");
  std::memmove(text.data(), text.data() + 2, length);
  tally.check(std::memcmp(text.data(), "abcdefef", 8) == 0, "memmove downwards");
  std::memset(text.data(), 'x', length);
  tally.check(std::memcmp(text.data(), "xxxxxxef", 8) == 0, "memset");
  tally.check(std::memcmp(text.data(), "xxxxxyef", length) < 0, "memcmp below");
  tally.check(std::memcmp(text.data(), "xxxxxwef", length) > 0, "memcmp above");
  std::memcpy(text.data(), "12345678", length);
  tally.check(std::memcmp(text.data(), "123456ef", 8) == 0, "memcpy");
}

void check_checksums(Tally& tally) {
  constexpr std::array<std::uint8_t, 9> kDigits{'1', '2', '3', '4', '5', '6', '7', '8', '9'};
  tally.check(crc16_modbus(kDigits) == 0x4b37, "CRC-16 of 123456789");
  tally.check(crc32(kDigits) == 0xcbf43926, "CRC-32 of 123456789");
  tally.check(target::crc8_of_word(0xbeef) == 0x92, "CRC-8 of beef");
}

std::uint8_t nibble(char digit) {
  return static_cast<std::uint8_t>(digit <= '9' ? digit - '0' : digit - 'a' + 10);
}

// Appends the hexadecimal bytes of the line behind `text`; gives where the line ends.
const char* take_bytes(const char* text, std::span<std::uint8_t> bytes, std::size_t& length) {
  while (*text == ' ' && length < bytes.size()) {
    bytes[length] = static_cast<std::uint8_t>((nibble(text[1]) << 4U) | nibble(text[2]));
    ++length;
    text += 3;
  }
  return text;
}

void check_register_map(Tally& tally) {
  Outage outage;
  target::FlashModel flash(machine::flash_part(16), outage);
  flash.manufacture();
  ProbeBox box(flash, {.address = 1, .serial = 42});
  tally.check(box.start() == Status::ok, "the box starts");
  box.set_ticks(60000);
  tally.check(box.store_sample({.flags = 0,
                                .raw_counts = {-512, 4875, 1830, 2010, 8500, 3291, 0, 0},
                                .statuses = {0, 0, 0, 0, 0, 0, 1, 1}}) == Status::ok,
              "first sample");
  box.set_ticks(120000);
  tally.check(box.store_sample({.flags = 4,
                                .raw_counts = {-520, 4880, 0, 2011, 8495, 3290, 0, 0},
                                .statuses = {0, 0, 2, 0, 0, 0, 1, 1}}) == Status::ok,
              "second sample");
  box.set_ticks(123456);

  std::array<std::uint8_t, kMaxRtuFrame> frame{};
  std::array<std::uint8_t, kMaxRtuFrame> answer{};
  std::size_t answer_length = 0;
  std::size_t compared = 0;  // bytes of the answer
  std::uint32_t exchanges = 0;
  for (const char* line = register_map_text; *line != 0; ++line) {
    std::size_t length = 0;
    if (line[0] == '>' && line[1] == ' ') {
      tally.check(compared == answer_length, "reply as long as the register map says");
      line = take_bytes(line + 1, frame, length);
      tally.check(box.answer(std::span(frame).first(length), answer, answer_length) == Status::ok,
                  "the box answers");
      compared = 0;
      ++exchanges;
    } else if (line[0] == '<' && line[1] == ' ') {
      line = take_bytes(line + 1, frame, length);
      const bool same = compared + length <= answer_length &&
                        std::memcmp(frame.data(), answer.data() + compared, length) == 0;
      tally.check(same, "reply as in the register map");
      compared += length;
    }
    while (*line != '\n') {
      ++line;
    }
  }
  tally.check(compared == answer_length, "last reply as long as the register map says");
  tally.check(exchanges == 11, "eleven examples in the register map");
}

BoxRecord record_for(std::uint32_t sequence) {
  BoxRecord record{.boot = 1, .sequence = sequence, .ticks_ms = sequence, .sample = {}};
  record.sample.raw_counts.fill(static_cast<std::int16_t>(sequence));
  return record;
}

// From a full block on: fills three slots of the next one; gives how many were stored. The cut
// falls `cut` units after the start of it, 0 = never.
std::uint32_t store_three(target::FlashModel& flash, std::uint32_t cut, std::uint32_t first) {
  RecordRing ring(flash);
  Status status = ring.start();
  machine::control_block().faults.cut_countdown = cut;
  std::uint32_t stored = 0;
  while (status == Status::ok && stored < 3) {
    BoxRecord record = record_for(first + stored);
    record.boot = ring.boot();
    status = ring.append(record);
    stored += status == Status::ok ? 1 : 0;
  }
  machine::control_block().faults.cut_countdown = 0;
  return stored;
}

// The power is cut at every unit written while a block fills up and the next one opens.
void check_power_cuts(Tally& tally) {
  std::uint32_t cuts = 0;
  for (std::uint32_t cut = 1;; ++cut) {
    Outage outage;
    const auto part = machine::flash_part(3);
    target::FlashModel flash(part, outage);
    flash.manufacture();
    std::uint32_t full = 0;
    {
      RecordRing ring(flash);
      static_cast<void>(ring.start());
      for (full = ring.slots_per_block() - 3; ring.next_ordinal() < full;) {
        static_cast<void>(ring.append(record_for(ring.next_ordinal() + 1)));
      }
    }
    machine::control_block().faults.tear_mask = cut * 0x35U & 0xffU;
    const std::uint32_t stored = store_three(flash, cut, full + 1);
    if (!outage.happened) {
      tally.check(stored == 3, "all stored without a cut");
      break;
    }
    ++cuts;
    target::FlashModel after(part, outage);
    RecordRing ring(after);
    tally.check(ring.start() == Status::ok, "the ring starts after a cut");
    const std::uint32_t held = ring.held();
    tally.check(held == full + stored || held == full + stored + 1, "nothing acknowledged is lost");
    std::array<BoxRecord, 3> records{};
    std::size_t count = 0;
    tally.check(ring.read(full, records, count) == Status::ok && count == held - full,
                "what is held can be read");
    for (std::uint32_t i = 0; i < count; ++i) {
      tally.check(records[i].sample == record_for(full + 1 + i).sample, "records are whole");
    }
  }
  tally.check(cuts == 16 + 140 + 3 * 42, "every unit of a change of block was cut");
  print_number(cuts);
  print(" power cuts\n");
}

void check_ring_of_bytes(Tally& tally) {
  machine::ByteRing<8> ring;
  std::uint8_t byte = 0;
  tally.check(!ring.take(byte), "an empty ring gives nothing");
  bool in_order = true;
  for (std::uint32_t round = 0; round < 40; ++round) {
    for (std::uint32_t i = 0; i < 5; ++i) {
      in_order = ring.put(static_cast<std::uint8_t>(round * 5 + i)) && in_order;
    }
    for (std::uint32_t i = 0; i < 5; ++i) {
      in_order = ring.take(byte) && byte == static_cast<std::uint8_t>(round * 5 + i) && in_order;
    }
  }
  tally.check(in_order, "bytes leave the ring as they came");
  for (std::uint32_t i = 0; i < 8; ++i) {
    tally.check(ring.put(1), "the ring takes its capacity");
  }
  tally.check(!ring.put(1) && ring.free() == 0, "and no more");
}

void check_line(Tally& tally) {
  static machine::Uart line(0, 115200);
  std::array<std::uint8_t, machine::Uart::kRingBytes + 1> bytes{};
  tally.check(!line.send(bytes), "more than the ring holds is refused");
  tally.check(line.send(std::span(bytes).first(bytes.size() - 1)), "what it holds is sent");
  tally.check(line.receive(bytes) == 0, "nothing comes from a silent line");
}

// The emulator counts instructions as time here, so that nothing on its host changes the outcome.
void check_ticks(Tally& tally) {
  machine::start_ticks();
  const std::uint64_t begin = machine::ticks_ms();
  while (machine::ticks_ms() < begin + 3) {
    machine::sleep();
  }
  tally.check(machine::ticks_ms() == begin + 3, "sleep ends at the next tick");
  machine::wait_us(900);
  tally.check(machine::ticks_ms() == begin + 3, "900 us are no tick");
  machine::wait_us(900);
  machine::wait_us(900);
  tally.check(machine::ticks_ms() == begin + 5, "2700 us are two ticks");
}

// A memory of 256 bytes or more with two address bytes is on the bus at 0x50.
void check_i2c(Tally& tally) {
  machine::BoardWires wires;
  target::I2cBus bus(wires);
  const std::array<std::uint8_t, 5> written{0x00, 0x10, 0xa5, 0x00, 0xff};
  std::array<std::uint8_t, 3> back{};
  tally.check(bus.write(0x50, written), "the memory acknowledges");
  tally.check(bus.write(0x50, std::span(written).first(2)), "and its address");
  tally.check(bus.read(0x50, back), "and a read");
  tally.check(std::memcmp(back.data(), written.data() + 2, back.size()) == 0,
              "what was written comes back");
  tally.check(!bus.write(0x51, written), "nobody else acknowledges a write");
  tally.check(!bus.read(0x51, back), "or a read");
}

[[noreturn]] void run() {
  Tally tally;
  check_memory_functions(tally);
  check_checksums(tally);
  check_ring_of_bytes(tally);
  check_register_map(tally);
  check_power_cuts(tally);
  check_line(tally);
  check_ticks(tally);
  check_i2c(tally);
  print_number(tally.checks);
  print(tally.failures == 0 ? " checks on the target passed\n" : " checks, some failed\n");
  exit_with(tally.failures == 0 ? 0 : 1);
}

}  // namespace
}  // namespace target_test

int main() { target_test::run(); }
