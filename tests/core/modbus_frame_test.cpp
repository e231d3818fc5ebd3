#include "firmware-sim/core/modbus_frame.hpp"

#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <span>
#include <vector>

using namespace firmware::core;
using Bytes = std::vector<std::uint8_t>;

namespace {

constexpr std::array<std::uint8_t, 2> kOneValue = {0x00, 0x03};
constexpr std::array<std::uint8_t, 4> kTwoValues = {0x00, 0x0a, 0x01, 0x02};

std::vector<Request> sample_requests() {
  return {{.unit = 1, .function = 3, .address = 2, .quantity = 1, .values = {}},
          {.unit = 17, .function = 4, .address = 0x6b, .quantity = 3, .values = {}},
          {.unit = 16, .function = 6, .address = 0x202, .quantity = 1, .values = kOneValue},
          {.unit = 17, .function = 16, .address = 1, .quantity = 2, .values = kTwoValues}};
}

Bytes frame_of(const Request& request) {
  Bytes frame(kMaxRtuFrame);
  std::size_t length = 0;
  REQUIRE(build_request(request, frame, length) == FrameStatus::ok);
  frame.resize(length);
  return frame;
}

Bytes good_reply(const Request& request) {
  Bytes frame(kMaxRtuFrame);
  std::size_t length = 0;
  const Bytes registers(request.quantity * std::size_t{2}, 0x5a);
  REQUIRE((request.function <= 4 ? build_read_reply(request, registers, frame, length)
                                 : build_write_reply(request, frame, length)) == FrameStatus::ok);
  frame.resize(length);
  return frame;
}

// The same frame with its CRC made to fit again.
Bytes resealed(Bytes frame) {
  std::size_t length = 0;
  REQUIRE(seal_rtu(frame[0], frame.size() - 3, frame, length) == FrameStatus::ok);
  return frame;
}

Bytes exception_to(const Request& request, std::uint8_t code) {
  Bytes frame(kMaxRtuFrame);
  std::size_t length = 0;
  REQUIRE(build_exception(request, code, frame, length) == FrameStatus::ok);
  frame.resize(length);
  return frame;
}

bool same(const Request& a, const Request& b) {
  return a.unit == b.unit && a.function == b.function && a.address == b.address &&
         a.quantity == b.quantity &&
         Bytes(a.values.begin(), a.values.end()) == Bytes(b.values.begin(), b.values.end());
}

}  // namespace

// Sources as in crc_test.cpp; the function 16 frame is the specification's example of section 6.12
// (write 000A and 0102 from address 1), its CRC from our own code.
TEST_CASE("RequestsHaveThePublishedBytes") {
  const auto requests = sample_requests();
  CHECK(frame_of(requests[0]) == Bytes{0x01, 0x03, 0x00, 0x02, 0x00, 0x01, 0x25, 0xca});
  CHECK(frame_of({.unit = 1, .function = 3, .address = 0, .quantity = 4, .values = {}}) ==
        Bytes{0x01, 0x03, 0x00, 0x00, 0x00, 0x04, 0x44, 0x09});
  CHECK(frame_of({.unit = 17, .function = 3, .address = 0x6b, .quantity = 3, .values = {}}) ==
        Bytes{0x11, 0x03, 0x00, 0x6b, 0x00, 0x03, 0x76, 0x87});
  CHECK(frame_of(requests[2]) == Bytes{0x10, 0x06, 0x02, 0x02, 0x00, 0x03, 0x6a, 0xf2});
  Bytes multiple = frame_of(requests[3]);
  multiple.resize(multiple.size() - 2);
  CHECK(multiple == Bytes{0x11, 0x10, 0x00, 0x01, 0x00, 0x02, 0x04, 0x00, 0x0a, 0x01, 0x02});
}

TEST_CASE("RequestsRoundTrip") {
  for (const Request& request : sample_requests()) {
    const Bytes frame = frame_of(request);
    Request parsed;
    REQUIRE(parse_request(frame, parsed) == FrameStatus::ok);
    CHECK(same(parsed, request));
  }
}

TEST_CASE("RepliesRoundTripAndFitOnlyTheirRequest") {
  const auto requests = sample_requests();
  for (std::size_t i = 0; i < requests.size(); ++i) {
    const Bytes frame = good_reply(requests[i]);
    for (std::size_t j = 0; j < requests.size(); ++j) {
      Reply reply;
      CHECK((parse_reply(frame, requests[j], reply) == FrameStatus::ok) == (i == j));
    }
  }
  Reply reply;
  REQUIRE(parse_reply(good_reply(requests[1]), requests[1], reply) == FrameStatus::ok);
  CHECK(reply.registers.size() == 3);
}

TEST_CASE("EveryTruncationIsRefused") {
  for (const Request& request : sample_requests()) {
    const Bytes frame = frame_of(request);
    const Bytes answer = good_reply(request);
    for (std::size_t size = 0; size < frame.size(); ++size) {
      Request parsed;
      CHECK(parse_request(std::span(frame).first(size), parsed) != FrameStatus::ok);
      if (size >= 4) {  // also when the truncated frame gets a CRC that fits
        CHECK(parse_request(
                  resealed(Bytes(frame.begin(), frame.begin() + static_cast<std::ptrdiff_t>(size))),
                  parsed) != FrameStatus::ok);
      }
    }
    for (std::size_t size = 0; size < answer.size(); ++size) {
      Reply reply;
      const auto part = std::span(answer).first(size);
      CHECK(parse_reply(part, request, reply) ==
            (size < kMinRtuFrame ? FrameStatus::too_short : FrameStatus::crc_mismatch));
      if (size >= 4) {
        CHECK(parse_reply(resealed(Bytes(part.begin(), part.end())), request, reply) !=
              FrameStatus::ok);
      }
    }
  }
}

TEST_CASE("EveryFlippedBitIsACrcMismatch") {
  for (const Request& request : sample_requests()) {
    const Bytes frame = frame_of(request);
    const Bytes answer = good_reply(request);
    for (std::size_t bit = 0; bit < 8 * frame.size(); ++bit) {
      Bytes broken = frame;
      broken[bit / 8] = static_cast<std::uint8_t>(broken[bit / 8] ^ (1U << (bit % 8)));
      Request parsed;
      CHECK(parse_request(broken, parsed) == FrameStatus::crc_mismatch);
    }
    for (std::size_t bit = 0; bit < 8 * answer.size(); ++bit) {
      Bytes broken = answer;
      broken[bit / 8] = static_cast<std::uint8_t>(broken[bit / 8] ^ (1U << (bit % 8)));
      Reply reply;
      CHECK(parse_reply(broken, request, reply) == FrameStatus::crc_mismatch);
    }
  }
}

TEST_CASE("RepliesThatDoNotFitAreToldApart") {
  const auto requests = sample_requests();
  Reply reply;
  Request other = requests[0];
  other.unit = 2;
  CHECK(parse_reply(good_reply(other), requests[0], reply) == FrameStatus::other_unit);
  other = requests[0];
  other.function = 4;
  CHECK(parse_reply(good_reply(other), requests[0], reply) == FrameStatus::other_function);
  other = requests[0];
  other.quantity = 2;
  CHECK(parse_reply(good_reply(other), requests[0], reply) == FrameStatus::wrong_byte_count);
  other = requests[3];
  other.address = 2;
  CHECK(parse_reply(good_reply(other), requests[3], reply) == FrameStatus::wrong_echo);
  other = requests[2];
  const std::array<std::uint8_t, 2> another_value = {0x00, 0x04};
  other.values = another_value;
  CHECK(parse_reply(good_reply(other), requests[2], reply) == FrameStatus::wrong_echo);
  Bytes longer = good_reply(requests[0]);
  longer.push_back(0);
  CHECK(parse_reply(resealed(longer), requests[0], reply) == FrameStatus::too_long);
  CHECK(parse_reply(Bytes(257, 0), requests[0], reply) == FrameStatus::too_long);
}

TEST_CASE("ExceptionsCarryTheirCode") {
  for (const Request& request : sample_requests()) {
    for (const std::uint8_t code : Bytes{0x01, 0x02, 0x03, 0x04, 0x06, 0x0b}) {
      Reply reply;
      const Bytes frame = exception_to(request, code);
      CHECK(parse_reply(frame, request, reply) == FrameStatus::exception_reply);
      CHECK(reply.exception_code == code);
      CHECK(expected_reply_length(frame).bytes == frame.size());
    }
  }
}

TEST_CASE("RequestsNoFrameCanCarryAreRefused") {
  Bytes frame(kMaxRtuFrame);
  std::size_t length = 1;
  const Bytes values(248, 0);
  const auto status_of = [&](std::uint8_t function, std::uint16_t quantity, std::size_t bytes) {
    return build_request({.unit = 1,
                          .function = function,
                          .address = 0,
                          .quantity = quantity,
                          .values = std::span(values).first(bytes)},
                         frame, length);
  };
  CHECK(status_of(3, 0, 0) == FrameStatus::wrong_quantity);
  CHECK(length == 0);
  CHECK(status_of(3, 125, 0) == FrameStatus::ok);
  CHECK(status_of(3, 126, 0) == FrameStatus::wrong_quantity);
  CHECK(status_of(16, 123, 246) == FrameStatus::ok);
  CHECK(length == 255);
  CHECK(status_of(16, 124, 248) == FrameStatus::wrong_quantity);
  CHECK(status_of(16, 2, 2) == FrameStatus::wrong_byte_count);
  CHECK(status_of(6, 2, 4) == FrameStatus::wrong_quantity);
  CHECK(status_of(5, 1, 2) == FrameStatus::other_function);
  frame.resize(7);
  CHECK(status_of(3, 1, 0) == FrameStatus::no_room);
}

TEST_CASE("LengthIsToldFromTheFirstBytes") {
  using Kind = ExpectedLength::Kind;
  for (const Request& request : sample_requests()) {
    const Bytes frame = frame_of(request);
    const Bytes answer = good_reply(request);
    CHECK(expected_request_length(frame).bytes == frame.size());
    CHECK(expected_reply_length(answer).bytes == answer.size());
    CHECK(expected_request_length(std::span(frame).first(1)).kind == Kind::need_more);
    CHECK(expected_reply_length(std::span(answer).first(1)).kind == Kind::need_more);
  }
  const Bytes unknown = {1, 0x2b};
  CHECK(expected_request_length(unknown).kind == Kind::unknown_end);
  CHECK(expected_reply_length(unknown).kind == Kind::unknown_end);
  const Bytes too_long = {1, 16, 0, 0, 0, 1, 255};  // would be 264 bytes
  CHECK(expected_request_length(too_long).kind == Kind::unknown_end);
}

TEST_CASE("AssemblerFindsFramesBackToBack") {
  RequestAssembler assembler;
  std::size_t found = 0;
  for (const Request& request : sample_requests()) {
    for (const std::uint8_t byte : frame_of(request)) {
      if (const auto frame = assembler.push(byte)) {
        ++found;
        Request parsed;
        REQUIRE(parse_request(*frame, parsed) == FrameStatus::ok);
        CHECK(same(parsed, request));
      }
    }
  }
  CHECK(found == 4);
  CHECK_FALSE(assembler.line_silent().has_value());
}

TEST_CASE("AssemblerResynchronisesAtSilence") {
  const Bytes good = frame_of(sample_requests()[0]);
  for (std::size_t cut = 0; cut <= 300; ++cut) {
    RequestAssembler assembler;
    for (std::size_t i = 0; i < cut;
         ++i) {  // rubbish of any length, of a function without a length
      CHECK_FALSE(assembler.push(static_cast<std::uint8_t>(0x40 + i)).has_value());
    }
    const auto leftover = assembler.line_silent();
    CHECK(leftover.has_value() == (cut >= kMinRtuFrame && cut <= kMaxRtuFrame));
    for (std::size_t i = 0; i < good.size(); ++i) {
      CHECK(assembler.push(good[i]).has_value() == (i + 1 == good.size()));
    }
  }
}

TEST_CASE("AssemblerGivesAFrameOfUnknownFunctionAtSilence") {
  RequestAssembler assembler;
  const Bytes device_id = resealed({0x01, 0x2b, 0x0e, 0x01, 0x00, 0, 0});
  for (const std::uint8_t byte : device_id) {
    CHECK_FALSE(assembler.push(byte).has_value());
  }
  const auto frame = assembler.line_silent();
  REQUIRE(frame.has_value());
  CHECK(Bytes(frame->begin(), frame->end()) == device_id);
  Request parsed;
  CHECK(parse_request(*frame, parsed) == FrameStatus::other_function);
  CHECK(parsed.function == 0x2b);
}
