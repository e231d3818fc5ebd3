#include "firmware-sim/sim/line/request_reader.hpp"

namespace firmware::sim::line {

void RequestReader::forget_broken_frame() {
  if (break_count_ != line_.break_count()) {
    break_count_ = line_.break_count();
    assembler_ = {};
    inside_frame_ = false;
  }
}

bool RequestReader::take_bytes(const Take& take) {
  forget_broken_frame();
  std::vector<std::uint8_t> bytes;
  if (line_.read(bytes) == 0) {
    return false;
  }
  last_byte_at_ = std::chrono::steady_clock::now();
  for (const std::uint8_t byte : bytes) {
    inside_frame_ = true;
    if (const auto frame = assembler_.push(byte)) {
      inside_frame_ = false;
      take({frame->begin(), frame->end()});
      if (break_count_ != line_.break_count() || !line_.plugged()) {
        break;
      }
    }
  }
  return true;
}

bool RequestReader::fall_silent(const Take& take) {
  forget_broken_frame();
  if (!inside_frame_) {
    return false;
  }
  inside_frame_ = false;
  const auto frame = assembler_.line_silent();
  if (!frame) {
    return false;
  }
  take({frame->begin(), frame->end()});
  return true;
}

}  // namespace firmware::sim::line
