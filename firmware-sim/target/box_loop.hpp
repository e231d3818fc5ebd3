// The main loop of a box without its machine: moves request bytes to the core and replies back, and
// takes a sample whenever one is due. Freestanding; one thread; the caller brings the time.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/core/probe_box.hpp"
#include "firmware-sim/target/sensors/byte_ports.hpp"
#include "firmware-sim/target/sensors/front_end.hpp"

namespace firmware::target {

struct LoopTiming {
  std::uint32_t settle_ms = 2000;    // until the first sample, so that the sensors have settled
  std::uint32_t reply_after_ms = 3;  // ticks after the one in which the request ended
};

// A reply follows the end of its request by more than 3.5 characters of 11 bits, 1.75 ms above
// 19,200 baud (MODBUS over Serial Line V1.02, 2.5.1.1); one tick more, since the request ends
// anywhere inside its own. REQUIRES: baud above 0.
[[nodiscard]] constexpr std::uint32_t reply_after_ms_from_baud(std::uint32_t baud) {
  const std::uint32_t silence_us = baud > 19200 ? 1750 : (77U * 500'000U + baud - 1) / baud;
  return (silence_us + 999) / 1000 + 1;
}

class BoxLoop {
 public:
  // An unfinished request is dropped after this much silence. Longer than 3.5 characters, since
  // adapters and pipes pause inside a frame.
  static constexpr std::uint64_t kSilenceMs = 20;

  // All outlive the loop. REQUIRES: `box` was started at time 0.
  BoxLoop(core::ProbeBox& box, SerialPort& line, FrontEnd& front_end, LoopTiming timing = {})
      : box_(box), line_(line), front_end_(front_end), timing_(timing) {}

  // Does what is due at `now_ms` (since start, never decreasing) and returns. The first status that
  // was not ok, else ok: the loop goes on in any case.
  core::Status step(std::uint64_t now_ms);
  // Takes a sample at once, beside those that the interval asks for.
  void request_sample() { ++extra_samples_; }
  [[nodiscard]] std::uint32_t extra_samples_due() const { return extra_samples_; }

 private:
  void receive(std::uint64_t now_ms);
  void accept(std::span<const std::uint8_t> frame);
  core::Status reply(std::uint64_t now_ms);
  core::Status take_sample(std::uint64_t now_ms);
  [[nodiscard]] std::uint64_t next_due_ms() const;

  core::ProbeBox& box_;
  SerialPort& line_;
  FrontEnd& front_end_;
  LoopTiming timing_;
  core::RequestAssembler assembler_;
  std::array<std::uint8_t, core::kMaxRtuFrame> request_{};
  std::size_t request_length_ = 0;  // 0 = none waits for its answer
  std::uint64_t last_byte_ms_ = 0;
  bool inside_frame_ = false;
  bool measuring_ = false;
  bool interval_asked_ = false;               // the running measurement is the one that was due
  std::optional<std::uint64_t> last_due_ms_;  // of the interval; none yet since start
  std::uint32_t extra_samples_ = 0;
};

}  // namespace firmware::target
