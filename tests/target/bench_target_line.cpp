// What the line of the emulated box carries: records a second, collected as a master does, beside
// the bytes a second that the same emulator echoes at best. Usage: bench_target_line
#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <optional>
#include <span>
#include <stdexcept>
#include <vector>

#include "firmware-sim/core/modbus_frame.hpp"
#include "tests/target/emulator.hpp"

using namespace firmware::core;
using target_test::Emulator;
using Clock = std::chrono::steady_clock;

namespace {

constexpr std::uint32_t kRecords = 4000;
constexpr std::size_t kEchoBytes = 200'000;
constexpr std::size_t kEchoWindow = 256;  // bytes on their way at once
constexpr int kRuns = 5;

double seconds_since(Clock::time_point begin) {
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

// Bytes a second on the line, both ways counted.
double echo_rate() {
  Emulator emulator(DWELLOG_ECHO_ELF);
  emulator.start();
  std::array<std::uint8_t, kEchoWindow> bytes{};
  std::size_t sent = 0;
  std::size_t came = 0;
  const auto begin = Clock::now();
  while (came < kEchoBytes) {
    const std::size_t room = std::min(kEchoWindow - (sent - came), kEchoBytes - sent);
    if (room > 0) {
      sent += static_cast<std::size_t>(::write(emulator.line(), bytes.data(), room));
    }
    pollfd entry{emulator.line(), POLLIN, 0};
    if (::poll(&entry, 1, 5000) <= 0) {
      throw std::runtime_error("the echo is lost");
    }
    came += static_cast<std::size_t>(::read(emulator.line(), bytes.data(), bytes.size()));
  }
  return 2.0 * static_cast<double>(kEchoBytes) / seconds_since(begin);
}

class Collector {
 public:
  explicit Collector(int line) : line_(line) {}

  // One round of the register map: lost, select, windows until one is not full, release.
  std::size_t round() {
    ask({.unit = 1,
         .function = kReadInputRegisters,
         .address = kRegLost,
         .quantity = kLostSize,
         .values = {}});
    command(kRegSelect, {});
    std::size_t records = 0;
    std::size_t count = kWindowRecords;
    RecordKey last;
    for (std::size_t k = 0; k < kWindows && count == kWindowRecords; ++k) {
      const auto address = static_cast<std::uint16_t>(kRegWindow + k * kWindowStride);
      const RegisterView window = ask({.unit = 1,
                                       .function = kReadInputRegisters,
                                       .address = address,
                                       .quantity = kWindowSize,
                                       .values = {}});
      require(decode_window_count(window, count) == DecodeStatus::ok);
      for (std::size_t i = 0; i < count; ++i) {
        BoxRecord record;
        require(decode_record(window_record(window, i), record) == DecodeStatus::ok);
        last = record.key();
      }
      records += count;
    }
    if (records > 0) {
      command(kRegRelease, last);
    }
    return records;
  }
  [[nodiscard]] std::size_t bytes() const { return bytes_; }
  [[nodiscard]] std::size_t exchanges() const { return exchanges_; }

 private:
  static void require(bool holds) {
    if (!holds) {
      throw std::runtime_error("the box answers something else");
    }
  }
  void command(std::uint16_t block, RecordKey key) {
    std::array<std::uint8_t, 2 * kCommandSize> values{};
    RegisterWriter writer(values);
    writer.put_u32(0, key.boot);
    writer.put_u32(2, key.sequence);
    ask({.unit = 1,
         .function = kWriteMultipleRegisters,
         .address = block,
         .quantity = kCommandSize,
         .values = values});
  }
  RegisterView ask(const Request& request) {
    std::array<std::uint8_t, kMaxRtuFrame> frame{};
    std::size_t length = 0;
    require(build_request(request, frame, length) == FrameStatus::ok);
    reply_ = target_test::exchange_on(line_, std::span(frame).first(length));
    bytes_ += length + reply_.size();
    ++exchanges_;
    Reply reply;
    require(parse_reply(reply_, request, reply) == FrameStatus::ok);
    return reply.registers;
  }

  int line_;
  std::vector<std::uint8_t> reply_;
  std::size_t bytes_ = 0;
  std::size_t exchanges_ = 0;
};

struct CollectRate {
  double records = 0;    // a second
  double bytes = 0;      // a second, both ways
  double exchanges = 0;  // a second
};

CollectRate collect_rate() {
  Emulator emulator(DWELLOG_PROBE_BOX_ELF);
  emulator.control().settle_ms = 3'600'000;
  emulator.start();
  if (!emulator.take_samples(kRecords)) {
    throw std::runtime_error("no samples");
  }
  Collector collector(emulator.line());
  std::size_t records = 0;
  const auto begin = Clock::now();
  while (records < kRecords) {
    records += collector.round();
  }
  const double seconds = seconds_since(begin);
  return {static_cast<double>(records) / seconds, static_cast<double>(collector.bytes()) / seconds,
          static_cast<double>(collector.exchanges()) / seconds};
}

}  // namespace

int main() {
  for (int run = 0; run < kRuns; ++run) {
    const double echo = echo_rate();
    const CollectRate collect = collect_rate();
    std::printf(
        "echo %.0f bytes/s; records %.0f /s, %.0f bytes/s on the line (%.2f of the echo), %.2f ms "
        "an exchange\n",
        echo, collect.records, collect.bytes, collect.bytes / echo, 1000.0 / collect.exchanges);
  }
}
