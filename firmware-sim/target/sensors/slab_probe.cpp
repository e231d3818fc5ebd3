#include "firmware-sim/target/sensors/slab_probe.hpp"

#include <limits>
#include <span>

namespace firmware::target {
namespace {

constexpr std::int32_t kFullHumidity = 10000;  // 0.01 %RH

Reading reading_within(std::int32_t counts, std::int32_t low, std::int32_t high) {
  if (counts < low || counts > high) {
    return {0, ReadingStatus::out_of_range};
  }
  return {static_cast<std::int16_t>(counts), ReadingStatus::ok};
}

}  // namespace

core::Request SlabProbe::request() const {
  return {.unit = map_.unit,
          .function = map_.function,
          .address = map_.first_register,
          .quantity = map_.quantity,
          .values = {}};
}

void SlabProbe::begin(std::uint64_t now_ms) {
  attempts_left_ = kAttempts;
  ask(now_ms);
}

void SlabProbe::ask(std::uint64_t now_ms) {
  while (line_.receive(reply_) > 0) {  // a late reply to an earlier request
  }
  reply_length_ = 0;
  std::array<std::uint8_t, 8> frame{};
  std::size_t length = 0;
  // A request that can't be built or sent runs into its time out like one that is not heard.
  if (core::build_request(request(), frame, length) == core::FrameStatus::ok) {
    static_cast<void>(line_.send(std::span(frame).first(length)));
  }
  --attempts_left_;
  asked_ = true;
  asked_ms_ = now_ms;
}

bool SlabProbe::poll(std::uint64_t now_ms, ClimateReading& reading) {
  reading = climate_without_counts(ReadingStatus::no_answer);
  if (!asked_) {
    return false;
  }
  if (take_reply(reading)) {
    asked_ = false;
    return true;
  }
  if (now_ms - asked_ms_ <= map_.reply_within_ms) {
    return false;
  }
  if (attempts_left_ > 0) {
    ask(now_ms);
    return false;
  }
  asked_ = false;
  return true;
}

bool SlabProbe::take_reply(ClimateReading& reading) {
  reply_length_ += line_.receive(std::span(reply_).subspan(reply_length_));
  const auto came = std::span<const std::uint8_t>(reply_).first(reply_length_);
  const core::ExpectedLength expected = core::expected_reply_length(came);
  if (expected.kind != core::ExpectedLength::Kind::known || came.size() < expected.bytes) {
    return false;
  }
  core::Reply reply;
  const core::FrameStatus status = core::parse_reply(came.first(expected.bytes), request(), reply);
  if (status == core::FrameStatus::exception_reply) {
    reading = climate_without_counts(ReadingStatus::fault);
    return true;
  }
  if (status != core::FrameStatus::ok) {
    return false;  // noise or another device: ask again when the time is out
  }
  reading = reading_from(reply);
  return true;
}

ClimateReading SlabProbe::reading_from(const core::Reply& reply) const {
  const std::int32_t scale = map_.centi_per_count;
  return {reading_within(reply.registers.i16(map_.temperature_at) * scale,
                         std::numeric_limits<std::int16_t>::min(),
                         std::numeric_limits<std::int16_t>::max()),
          reading_within(reply.registers.u16(map_.humidity_at) * scale, 0, kFullHumidity)};
}

}  // namespace firmware::target
