// A small master for tests: asks a box through RTU frames, in this process or over any line, and
// requires that replies are in order.
#pragma once

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <functional>
#include <span>
#include <utility>
#include <vector>

#include "firmware-sim/core/probe_box.hpp"

namespace firmware::core {

inline Sample sample_for(std::uint32_t boot, std::uint32_t sequence) {
  Sample sample;
  sample.flags = static_cast<std::uint16_t>(boot);
  for (std::size_t channel = 0; channel < kChannels; ++channel) {
    sample.raw_counts[channel] = static_cast<std::int16_t>(sequence * 8 + channel);
    sample.statuses[channel] = static_cast<std::uint8_t>((sequence + channel) % 8);
  }
  return sample;
}

// The next sample of the box, one minute after the last.
inline Status take_sample(ProbeBox& box) {
  box.set_ticks(box.ticks_ms() + 60000);
  return box.store_sample(sample_for(box.boot(), box.sequence() + 1));
}

class BoxMaster {
 public:
  // Sends a frame and gives the reply, empty when there is none; valid until the next call.
  using Exchange = std::function<std::span<const std::uint8_t>(std::span<const std::uint8_t>)>;

  BoxMaster(std::uint8_t unit, Exchange exchange) : unit_(unit), exchange_(std::move(exchange)) {}
  explicit BoxMaster(ProbeBox& box)
      : BoxMaster(box.settings().address, [&box, answer = std::array<std::uint8_t, kMaxRtuFrame>{}](
                                              std::span<const std::uint8_t> frame) mutable {
          std::size_t length = 0;
          const Status status = box.answer(frame, answer, length);
          REQUIRE((status == Status::ok || status == Status::memory_fault));
          return std::span<const std::uint8_t>(answer).first(length);
        }) {}
  BoxMaster(const BoxMaster&) = delete;
  BoxMaster& operator=(const BoxMaster&) = delete;

  // Exception code the box answers with; 0 when it did as asked.
  std::uint8_t command(std::uint16_t block, RecordKey key) {
    const auto values = command_bytes(key);
    return ask({.unit = unit_,
                .function = kWriteMultipleRegisters,
                .address = block,
                .quantity = kCommandSize,
                .values = values});
  }
  std::uint8_t select(RecordKey key) { return command(kRegSelect, key); }
  std::uint8_t release(RecordKey key) { return command(kRegRelease, key); }

  // REQUIRES: the box answers without an exception. Valid until the next question.
  RegisterView read(std::uint16_t address, std::uint16_t quantity) {
    REQUIRE(ask({.unit = unit_,
                 .function = kReadInputRegisters,
                 .address = address,
                 .quantity = quantity,
                 .values = {}}) == 0);
    return reply_.registers;
  }

  BoxIdentity identity() {
    BoxIdentity identity;
    REQUIRE(decode_identity(read(kRegIdentity, kIdentitySize), identity) == DecodeStatus::ok);
    return identity;
  }
  LiveSample live() {
    LiveSample live;
    REQUIRE(decode_live(read(kRegLive, kLiveSize), live) == DecodeStatus::ok);
    return live;
  }
  LostBlock lost() {
    LostBlock lost;
    REQUIRE(decode_lost(read(kRegLost, kLostSize), lost) == DecodeStatus::ok);
    return lost;
  }
  std::vector<BoxRecord> window(std::size_t k) {
    const RegisterView registers =
        read(static_cast<std::uint16_t>(kRegWindow + k * kWindowStride), kWindowSize);
    std::size_t count = 0;
    REQUIRE(decode_window_count(registers, count) == DecodeStatus::ok);
    std::vector<BoxRecord> records(count);
    for (std::size_t i = 0; i < count; ++i) {
      REQUIRE(decode_record(window_record(registers, i), records[i]) == DecodeStatus::ok);
    }
    return records;
  }

  // Sends any PDU; the exception code of the reply, 0 when it is none.
  std::uint8_t exception_to_raw(const std::vector<std::uint8_t>& pdu) {
    std::array<std::uint8_t, kMaxRtuFrame> frame{};
    std::copy(pdu.begin(), pdu.end(), frame.begin() + 1);
    std::size_t length = 0;
    REQUIRE(seal_rtu(unit_, pdu.size(), frame, length) == FrameStatus::ok);
    const auto reply = exchange_(std::span(frame).first(length));
    REQUIRE(reply.size() >= kMinRtuFrame);
    REQUIRE(crc16_ok(reply));
    return (reply[1] & kExceptionBit) != 0 ? reply[2] : std::uint8_t{0};
  }

  void broadcast_command(std::uint16_t block, RecordKey key) {
    const auto values = command_bytes(key);
    std::array<std::uint8_t, kMaxRtuFrame> frame{};
    std::size_t length = 0;
    REQUIRE(build_request({.unit = kBroadcastUnit,
                           .function = kWriteMultipleRegisters,
                           .address = block,
                           .quantity = kCommandSize,
                           .values = values},
                          frame, length) == FrameStatus::ok);
    REQUIRE(exchange_(std::span(frame).first(length)).empty());
  }

 private:
  static std::array<std::uint8_t, 2 * kCommandSize> command_bytes(RecordKey key) {
    std::array<std::uint8_t, 2 * kCommandSize> bytes{};
    RegisterWriter writer(bytes);
    writer.put_u32(0, key.boot);
    writer.put_u32(2, key.sequence);
    return bytes;
  }
  static bool crc16_ok(std::span<const std::uint8_t> frame) {
    std::uint8_t unit = 0;
    std::span<const std::uint8_t> pdu;
    return open_rtu(frame, unit, pdu) == FrameStatus::ok;
  }

  std::uint8_t ask(const Request& request) {
    std::array<std::uint8_t, kMaxRtuFrame> frame{};
    std::size_t length = 0;
    REQUIRE(build_request(request, frame, length) == FrameStatus::ok);
    const FrameStatus status =
        parse_reply(exchange_(std::span(frame).first(length)), request, reply_);
    REQUIRE((status == FrameStatus::ok || status == FrameStatus::exception_reply));
    return reply_.exception_code;
  }

  std::uint8_t unit_;
  Exchange exchange_;
  Reply reply_;
};

}  // namespace firmware::core
