#include "firmware-sim/target/box_loop.hpp"

#include <algorithm>

namespace firmware::target {

core::Status BoxLoop::step(std::uint64_t now_ms) {
  box_.set_ticks(now_ms);
  front_end_.watch(now_ms);
  receive(now_ms);
  const core::Status replied = reply(now_ms);
  const core::Status sampled = take_sample(now_ms);
  return replied != core::Status::ok ? replied : sampled;
}

void BoxLoop::receive(std::uint64_t now_ms) {
  std::array<std::uint8_t, 32> bytes{};
  for (;;) {
    const std::size_t count = line_.receive(bytes);
    if (count == 0) {
      break;
    }
    last_byte_ms_ = now_ms;
    for (const std::uint8_t byte : std::span(bytes).first(count)) {
      inside_frame_ = true;
      if (const auto frame = assembler_.push(byte)) {
        inside_frame_ = false;
        accept(*frame);
      }
    }
  }
  if (inside_frame_ && now_ms - last_byte_ms_ > kSilenceMs) {
    inside_frame_ = false;
    if (const auto frame = assembler_.line_silent()) {
      accept(*frame);
    }
  }
}

// A master that asks again before it was answered has given up the earlier request.
void BoxLoop::accept(std::span<const std::uint8_t> frame) {
  std::copy(frame.begin(), frame.end(), request_.begin());
  request_length_ = frame.size();
}

core::Status BoxLoop::reply(std::uint64_t now_ms) {
  if (request_length_ == 0 || now_ms - last_byte_ms_ < timing_.reply_after_ms) {
    return core::Status::ok;
  }
  std::array<std::uint8_t, core::kMaxRtuFrame> frame{};
  std::size_t length = 0;
  const core::Status status =
      box_.answer(std::span(request_).first(request_length_), frame, length);
  request_length_ = 0;
  // No room: an earlier reply is still on its way, so this one comes too late anyway.
  static_cast<void>(line_.send(std::span(frame).first(length)));
  return status;
}

std::uint64_t BoxLoop::next_due_ms() const {
  return last_due_ms_ ? *last_due_ms_ + std::uint64_t{1000} * box_.sample_interval_s()
                      : timing_.settle_ms;
}

core::Status BoxLoop::take_sample(std::uint64_t now_ms) {
  const std::uint64_t due_ms = next_due_ms();
  const bool due = now_ms >= due_ms;
  if (!measuring_ && (due || extra_samples_ > 0)) {
    measuring_ = true;
    interval_asked_ = due;
    if (due) {
      // A shortened interval is not made up for: the samples in between were never taken.
      const bool late = now_ms - due_ms >= std::uint64_t{1000} * box_.sample_interval_s();
      last_due_ms_ = late ? now_ms : due_ms;
    }
    front_end_.begin(now_ms);
  }
  core::Sample sample;
  if (!measuring_ || !front_end_.poll(now_ms, sample)) {
    return core::Status::ok;
  }
  measuring_ = false;
  const core::Status status = box_.store_sample(sample);
  extra_samples_ -= interval_asked_ ? 0 : 1;
  return status;
}

}  // namespace firmware::target
