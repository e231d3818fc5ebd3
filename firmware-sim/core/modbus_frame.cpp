#include "firmware-sim/core/modbus_frame.hpp"

#include <algorithm>

#include "firmware-sim/core/crc.hpp"

namespace firmware::core {
namespace {

constexpr std::size_t kReadRequestPdu = 5;      // function, address, quantity
constexpr std::size_t kWriteReplyPdu = 5;       // function, address, value or quantity
constexpr std::size_t kWriteHeaderPdu = 6;      // function, address, quantity, byte count
constexpr std::size_t kExceptionPdu = 2;        // function, code
constexpr std::size_t kReadReplyHeaderPdu = 2;  // function, byte count
constexpr std::size_t kRtuOverhead = 3;         // unit and CRC

bool is_read(std::uint8_t function) {
  return function == kReadHoldingRegisters || function == kReadInputRegisters;
}

bool is_supported(std::uint8_t function) {
  return is_read(function) || function == kWriteSingleRegister ||
         function == kWriteMultipleRegisters;
}

void put_u16(std::span<std::uint8_t> bytes, std::size_t at, std::uint16_t value) {
  bytes[at] = static_cast<std::uint8_t>(value >> 8U);
  bytes[at + 1] = static_cast<std::uint8_t>(value & 0xffU);
}

std::uint16_t u16_at(std::span<const std::uint8_t> bytes, std::size_t at) {
  return static_cast<std::uint16_t>((bytes[at] << 8U) | bytes[at + 1]);
}

FrameStatus check_size(std::size_t actual, std::size_t expected) {
  if (actual < expected) {
    return FrameStatus::too_short;
  }
  return actual > expected ? FrameStatus::too_long : FrameStatus::ok;
}

FrameStatus check_quantity(std::uint8_t function, std::uint16_t quantity) {
  if (function == kWriteSingleRegister) {
    return quantity == 1 ? FrameStatus::ok : FrameStatus::wrong_quantity;
  }
  const std::uint16_t most = is_read(function) ? kMaxReadRegisters : kMaxWriteRegisters;
  return quantity >= 1 && quantity <= most ? FrameStatus::ok : FrameStatus::wrong_quantity;
}

// Runs a PDU builder on the part of `frame` behind the unit byte and seals the result.
template <class BuildPdu>
FrameStatus build_rtu(std::uint8_t unit, std::span<std::uint8_t> frame, std::size_t& length,
                      BuildPdu build_pdu) {
  length = 0;
  if (frame.size() < kRtuOverhead) {
    return FrameStatus::no_room;
  }
  std::size_t pdu_length = 0;
  const FrameStatus status = build_pdu(frame.subspan(1, frame.size() - kRtuOverhead), pdu_length);
  return status == FrameStatus::ok ? seal_rtu(unit, pdu_length, frame, length) : status;
}

FrameStatus parse_write_multiple(std::span<const std::uint8_t> pdu, Request& request) {
  if (pdu.size() < kWriteHeaderPdu) {
    return FrameStatus::too_short;
  }
  request.quantity = u16_at(pdu, 3);
  if (const auto status = check_quantity(request.function, request.quantity);
      status != FrameStatus::ok) {
    return status;
  }
  const std::size_t byte_count = pdu[5];
  if (byte_count != request.quantity * std::size_t{2}) {
    return FrameStatus::wrong_byte_count;
  }
  request.values = pdu.subspan(kWriteHeaderPdu);
  return check_size(pdu.size(), kWriteHeaderPdu + byte_count);
}

FrameStatus parse_read_reply(std::span<const std::uint8_t> pdu, const Request& request,
                             Reply& reply) {
  if (pdu.size() < kReadReplyHeaderPdu) {
    return FrameStatus::too_short;
  }
  const std::size_t byte_count = pdu[1];
  if (byte_count != request.quantity * std::size_t{2}) {
    return FrameStatus::wrong_byte_count;
  }
  const FrameStatus status = check_size(pdu.size(), kReadReplyHeaderPdu + byte_count);
  if (status == FrameStatus::ok) {
    reply.registers = RegisterView{pdu.subspan(kReadReplyHeaderPdu)};
  }
  return status;
}

FrameStatus parse_write_reply(std::span<const std::uint8_t> pdu, const Request& request) {
  if (const auto status = check_size(pdu.size(), kWriteReplyPdu); status != FrameStatus::ok) {
    return status;
  }
  const std::uint16_t echoed =
      request.function == kWriteSingleRegister && request.values.size() == 2
          ? u16_at(request.values, 0)
          : request.quantity;
  const bool same = u16_at(pdu, 1) == request.address && u16_at(pdu, 3) == echoed;
  return same ? FrameStatus::ok : FrameStatus::wrong_echo;
}

ExpectedLength known(std::size_t bytes) {
  return bytes <= kMaxRtuFrame ? ExpectedLength{ExpectedLength::Kind::known, bytes}
                               : ExpectedLength{ExpectedLength::Kind::unknown_end, 0};
}

}  // namespace

FrameStatus seal_rtu(std::uint8_t unit, std::size_t pdu_length, std::span<std::uint8_t> frame,
                     std::size_t& length) {
  length = 0;
  if (frame.size() < pdu_length + kRtuOverhead) {
    return FrameStatus::no_room;
  }
  frame[0] = unit;
  const std::uint16_t crc = crc16_modbus(frame.first(1 + pdu_length));
  frame[1 + pdu_length] = static_cast<std::uint8_t>(crc & 0xffU);
  frame[2 + pdu_length] = static_cast<std::uint8_t>(crc >> 8U);
  length = pdu_length + kRtuOverhead;
  return FrameStatus::ok;
}

FrameStatus open_rtu(std::span<const std::uint8_t> frame, std::uint8_t& unit,
                     std::span<const std::uint8_t>& pdu) {
  if (frame.size() < kMinRtuFrame) {
    return FrameStatus::too_short;
  }
  if (frame.size() > kMaxRtuFrame) {
    return FrameStatus::too_long;
  }
  if (crc16_modbus(frame) != 0) {
    return FrameStatus::crc_mismatch;
  }
  unit = frame[0];
  pdu = frame.subspan(1, frame.size() - kRtuOverhead);
  return FrameStatus::ok;
}

FrameStatus build_request_pdu(const Request& request, std::span<std::uint8_t> pdu,
                              std::size_t& length) {
  length = 0;
  if (!is_supported(request.function)) {
    return FrameStatus::other_function;
  }
  if (const auto status = check_quantity(request.function, request.quantity);
      status != FrameStatus::ok) {
    return status;
  }
  const bool reads = is_read(request.function);
  if (request.values.size() != (reads ? std::size_t{0} : request.quantity * std::size_t{2})) {
    return FrameStatus::wrong_byte_count;
  }
  const std::size_t header = reads                                      ? kReadRequestPdu
                             : request.function == kWriteSingleRegister ? std::size_t{3}
                                                                        : kWriteHeaderPdu;
  if (pdu.size() < header + request.values.size()) {
    return FrameStatus::no_room;
  }
  pdu[0] = request.function;
  put_u16(pdu, 1, request.address);
  if (header > 3) {
    put_u16(pdu, 3, request.quantity);
  }
  if (header == kWriteHeaderPdu) {
    pdu[5] = static_cast<std::uint8_t>(request.values.size());
  }
  std::copy(request.values.begin(), request.values.end(), pdu.subspan(header).begin());
  length = header + request.values.size();
  return FrameStatus::ok;
}

FrameStatus build_read_reply_pdu(const Request& request,
                                 std::span<const std::uint8_t> register_bytes,
                                 std::span<std::uint8_t> pdu, std::size_t& length) {
  length = 0;
  if (register_bytes.size() != request.quantity * std::size_t{2} ||
      check_quantity(request.function, request.quantity) != FrameStatus::ok) {
    return FrameStatus::wrong_byte_count;
  }
  if (pdu.size() < kReadReplyHeaderPdu + register_bytes.size()) {
    return FrameStatus::no_room;
  }
  pdu[0] = request.function;
  pdu[1] = static_cast<std::uint8_t>(register_bytes.size());
  std::copy(register_bytes.begin(), register_bytes.end(), pdu.subspan(kReadReplyHeaderPdu).begin());
  length = kReadReplyHeaderPdu + register_bytes.size();
  return FrameStatus::ok;
}

FrameStatus build_write_reply_pdu(const Request& request, std::span<std::uint8_t> pdu,
                                  std::size_t& length) {
  length = 0;
  if (pdu.size() < kWriteReplyPdu) {
    return FrameStatus::no_room;
  }
  const bool single = request.function == kWriteSingleRegister;
  if (single && request.values.size() != 2) {
    return FrameStatus::wrong_byte_count;
  }
  pdu[0] = request.function;
  put_u16(pdu, 1, request.address);
  put_u16(pdu, 3, single ? u16_at(request.values, 0) : request.quantity);
  length = kWriteReplyPdu;
  return FrameStatus::ok;
}

FrameStatus build_exception_pdu(const Request& request, std::uint8_t exception_code,
                                std::span<std::uint8_t> pdu, std::size_t& length) {
  length = 0;
  if (pdu.size() < kExceptionPdu) {
    return FrameStatus::no_room;
  }
  pdu[0] = static_cast<std::uint8_t>(request.function | kExceptionBit);
  pdu[1] = exception_code;
  length = kExceptionPdu;
  return FrameStatus::ok;
}

FrameStatus parse_request_pdu(std::span<const std::uint8_t> pdu, Request& request) {
  request = Request{.unit = request.unit, .values = {}};
  if (pdu.empty()) {
    return FrameStatus::too_short;
  }
  request.function = pdu[0];
  if (!is_supported(request.function)) {
    return FrameStatus::other_function;
  }
  if (pdu.size() < kReadRequestPdu) {
    return FrameStatus::too_short;
  }
  request.address = u16_at(pdu, 1);
  if (request.function == kWriteMultipleRegisters) {
    return parse_write_multiple(pdu, request);
  }
  if (request.function == kWriteSingleRegister) {
    request.quantity = 1;
    request.values = pdu.subspan(3, 2);
  } else {
    request.quantity = u16_at(pdu, 3);
  }
  const FrameStatus size = check_size(pdu.size(), kReadRequestPdu);
  return size == FrameStatus::ok ? check_quantity(request.function, request.quantity) : size;
}

FrameStatus parse_reply_pdu(std::span<const std::uint8_t> pdu, const Request& request,
                            Reply& reply) {
  reply = Reply{};
  if (pdu.size() < kExceptionPdu) {
    return FrameStatus::too_short;
  }
  if (pdu[0] == (request.function | kExceptionBit)) {
    const FrameStatus size = check_size(pdu.size(), kExceptionPdu);
    reply.exception_code = size == FrameStatus::ok ? pdu[1] : std::uint8_t{0};
    return size == FrameStatus::ok ? FrameStatus::exception_reply : size;
  }
  if (pdu[0] != request.function) {
    return FrameStatus::other_function;
  }
  return is_read(request.function) ? parse_read_reply(pdu, request, reply)
                                   : parse_write_reply(pdu, request);
}

FrameStatus build_request(const Request& request, std::span<std::uint8_t> frame,
                          std::size_t& length) {
  return build_rtu(request.unit, frame, length, [&](std::span<std::uint8_t> pdu, std::size_t& n) {
    return build_request_pdu(request, pdu, n);
  });
}

FrameStatus build_read_reply(const Request& request, std::span<const std::uint8_t> register_bytes,
                             std::span<std::uint8_t> frame, std::size_t& length) {
  return build_rtu(request.unit, frame, length, [&](std::span<std::uint8_t> pdu, std::size_t& n) {
    return build_read_reply_pdu(request, register_bytes, pdu, n);
  });
}

FrameStatus build_write_reply(const Request& request, std::span<std::uint8_t> frame,
                              std::size_t& length) {
  return build_rtu(request.unit, frame, length, [&](std::span<std::uint8_t> pdu, std::size_t& n) {
    return build_write_reply_pdu(request, pdu, n);
  });
}

FrameStatus build_exception(const Request& request, std::uint8_t exception_code,
                            std::span<std::uint8_t> frame, std::size_t& length) {
  return build_rtu(request.unit, frame, length, [&](std::span<std::uint8_t> pdu, std::size_t& n) {
    return build_exception_pdu(request, exception_code, pdu, n);
  });
}

FrameStatus parse_request(std::span<const std::uint8_t> frame, Request& request) {
  std::span<const std::uint8_t> pdu;
  const FrameStatus status = open_rtu(frame, request.unit, pdu);
  return status == FrameStatus::ok ? parse_request_pdu(pdu, request) : status;
}

FrameStatus parse_reply(std::span<const std::uint8_t> frame, const Request& request, Reply& reply) {
  reply = Reply{};
  std::uint8_t unit = 0;
  std::span<const std::uint8_t> pdu;
  if (const auto status = open_rtu(frame, unit, pdu); status != FrameStatus::ok) {
    return status;
  }
  return unit == request.unit ? parse_reply_pdu(pdu, request, reply) : FrameStatus::other_unit;
}

ExpectedLength expected_request_length(std::span<const std::uint8_t> first_bytes) {
  if (first_bytes.size() < 2) {
    return {};
  }
  const std::uint8_t function = first_bytes[1];
  // Functions 01 to 06 all ask with one address and one word; the box refuses 01, 02 and 05, but
  // must find their end to do so at once.
  if (function >= 0x01 && function <= 0x06) {
    return known(kReadRequestPdu + kRtuOverhead);
  }
  // 15 and 16 carry a byte count behind address and quantity.
  if (function == 0x0f || function == kWriteMultipleRegisters) {
    return first_bytes.size() > kWriteHeaderPdu
               ? known(kWriteHeaderPdu + first_bytes[kWriteHeaderPdu] + kRtuOverhead)
               : ExpectedLength{};
  }
  return {ExpectedLength::Kind::unknown_end, 0};
}

ExpectedLength expected_reply_length(std::span<const std::uint8_t> first_bytes) {
  if (first_bytes.size() < 2) {
    return {};
  }
  const std::uint8_t function = first_bytes[1];
  if ((function & kExceptionBit) != 0) {
    return known(kExceptionPdu + kRtuOverhead);
  }
  if (is_read(function)) {
    return first_bytes.size() > kReadReplyHeaderPdu
               ? known(kReadReplyHeaderPdu + first_bytes[kReadReplyHeaderPdu] + kRtuOverhead)
               : ExpectedLength{};
  }
  if (function == kWriteSingleRegister || function == kWriteMultipleRegisters) {
    return known(kWriteReplyPdu + kRtuOverhead);
  }
  return {ExpectedLength::Kind::unknown_end, 0};
}

std::optional<std::span<const std::uint8_t>> RequestAssembler::push(std::uint8_t byte) {
  if (length_ == bytes_.size()) {
    overflowed_ = true;  // no frame is that long: wait for the silence
    return std::nullopt;
  }
  bytes_[length_] = byte;
  ++length_;
  if (unknown_end_) {
    return std::nullopt;
  }
  const auto collected = std::span<const std::uint8_t>(bytes_).first(length_);
  const ExpectedLength expected = expected_request_length(collected);
  unknown_end_ = expected.kind == ExpectedLength::Kind::unknown_end;
  if (expected.kind != ExpectedLength::Kind::known || length_ < expected.bytes) {
    return std::nullopt;
  }
  length_ = 0;
  return collected;
}

std::optional<std::span<const std::uint8_t>> RequestAssembler::line_silent() {
  const std::size_t length = length_;
  const bool whole = unknown_end_ && !overflowed_ && length >= kMinRtuFrame;
  length_ = 0;
  unknown_end_ = false;
  overflowed_ = false;
  if (!whole) {
    return std::nullopt;
  }
  return std::span<const std::uint8_t>(bytes_).first(length);
}

}  // namespace firmware::core
