#include "logger/ingest/device_master.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cstdio>

namespace logger::ingest {

namespace core = firmware::core;
using store::failure;
using store::Failure;

namespace {

constexpr int kTries = 3;

struct ExceptionMeaning {
  std::uint8_t exception_code;
  ErrorCode code;
  const char* text;
};
// Source: MODBUS application protocol specification V1.1b3, section 7.
constexpr std::array<ExceptionMeaning, 5> kExceptions{{
    {0x01, ErrorCode::unsupported, "illegal function"},
    {0x02, ErrorCode::unsupported, "illegal data address"},
    {0x03, ErrorCode::invalid_input, "illegal data value"},
    {0x04, ErrorCode::io, "device failure"},
    {0x06, ErrorCode::unavailable, "device busy"},
}};

std::size_t reply_bytes(const core::Request& request) {
  const bool is_read = request.function == core::kReadHoldingRegisters ||
                       request.function == core::kReadInputRegisters;
  return is_read ? 5U + 2U * request.quantity : 8U;
}

}  // namespace

Error error_from_exception(std::uint8_t exception_code, const core::Request& request) {
  const auto* const known = std::find_if(
      kExceptions.begin(), kExceptions.end(),
      [&](const ExceptionMeaning& meaning) { return meaning.exception_code == exception_code; });
  std::array<char, 96> text{};
  std::snprintf(text.data(), text.size(), "exception %02u (%s) to function %02u at register 0x%04x",
                exception_code, known == kExceptions.end() ? "unknown" : known->text,
                request.function, request.address);
  return {known == kExceptions.end() ? ErrorCode::unsupported : known->code, text.data(), 0};
}

Failure DeviceMaster::failure_in_device(const Error& error) const {
  return failure(error.code,
                 "box " + address_.box_id + " (unit " + std::to_string(address_.unit) + " on " +
                     line_.name() + "): " + error.context,
                 error.os_errno);
}

boost::asio::awaitable<Result<void>> DeviceMaster::open() {
  auto opened = co_await line_.open();
  if (!opened) {
    co_return failure_in_device(opened.error());
  }
  co_return Result<void>{};
}

boost::asio::awaitable<Result<Answer>> DeviceMaster::ask(core::Request request) {
  request.unit = static_cast<std::uint8_t>(address_.unit);
  std::array<std::uint8_t, core::kMaxRtuFrame> frame{};
  std::size_t length = 0;
  [[maybe_unused]] const auto built = core::build_request(request, frame, length);
  assert(built == core::FrameStatus::ok);
  const Micros deadline =
      line_.carrying_time(length + reply_bytes(request)) + address_.answer_within;
  const int tries = silent_ ? 1 : kTries;
  Error last;
  for (int i = 0; i < tries; ++i) {
    auto reply = co_await line_.exchange(std::span(frame).first(length), deadline);
    if (!reply) {
      last = reply.error();
      if (last.code == ErrorCode::unavailable) {
        co_return failure_in_device(last);
      }
      continue;
    }
    silent_ = false;
    core::Reply content;
    const core::FrameStatus status = core::parse_reply(reply.value(), request, content);
    if (status == core::FrameStatus::ok) {
      const auto bytes = content.registers.bytes();
      co_return Answer{{bytes.begin(), bytes.end()}, 0};
    }
    if (status == core::FrameStatus::exception_reply) {
      co_return Answer{{}, content.exception_code};
    }
    last = {ErrorCode::corrupt, "a reply that does not fit what was asked", 0};
  }
  silent_ = last.code == ErrorCode::timeout;
  if (tries > 1) {
    last.context += ", " + std::to_string(tries) + " tries";
  }
  co_return failure_in_device(last);
}

}  // namespace logger::ingest
