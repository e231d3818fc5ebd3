// Cuts the bytes that come in on a line into request frames, and forgets a half one when the line
// was pulled or drained in between. One thread.
#pragma once

#include <chrono>
#include <cstdint>
#include <functional>
#include <vector>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/sim/line/pty_line.hpp"

namespace firmware::sim::line {

class RequestReader {
 public:
  using Take = std::function<void(std::vector<std::uint8_t> frame)>;

  explicit RequestReader(PtyLine& line) : line_(line) {}  // `line` outlives the reader

  // Calls `take` for each frame that has become whole. Bytes behind it are lost when `take` pulls
  // the cable. Returns whether any byte came.
  bool take_bytes(const Take& take);
  // The line fell silent: what was begun is a frame now or never. Returns whether it was one.
  bool fall_silent(const Take& take);

  [[nodiscard]] bool inside_frame() const { return inside_frame_; }
  [[nodiscard]] std::chrono::steady_clock::time_point last_byte_at() const { return last_byte_at_; }

 private:
  void forget_broken_frame();

  PtyLine& line_;
  core::RequestAssembler assembler_;
  std::uint64_t break_count_ = 0;  // of the line when the assembler was last fed
  bool inside_frame_ = false;      // bytes came since the last whole frame or silence
  std::chrono::steady_clock::time_point last_byte_at_;
};

}  // namespace firmware::sim::line
