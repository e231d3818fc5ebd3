// Modbus frames for both ends of the line: functions 03, 04, 06 and 16 with their exceptions, as
// PDU (for Modbus TCP) and as RTU frame (unit, PDU, CRC-16). Freestanding: spans in, spans out, no
// heap, no I/O, no clock. Source of all limits: MODBUS Application Protocol Specification V1.1b3,
// sections 4.1 (sizes), 6.3, 6.4, 6.6, 6.12 (functions) and 7 (exceptions).
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "firmware-sim/core/record_codec.hpp"

namespace firmware::core {

inline constexpr std::size_t kMaxRtuFrame = 256;  // 1 unit + 253 PDU + 2 CRC
inline constexpr std::size_t kMaxPdu = 253;
inline constexpr std::size_t kMinRtuFrame = 4;  // 1 unit + 1 function + 2 CRC
inline constexpr std::uint16_t kMaxReadRegisters = 125;
inline constexpr std::uint16_t kMaxWriteRegisters = 123;
inline constexpr std::uint8_t kBroadcastUnit = 0;
inline constexpr std::uint8_t kMaxUnit = 247;

inline constexpr std::uint8_t kReadHoldingRegisters = 0x03;
inline constexpr std::uint8_t kReadInputRegisters = 0x04;
inline constexpr std::uint8_t kWriteSingleRegister = 0x06;
inline constexpr std::uint8_t kWriteMultipleRegisters = 0x10;
inline constexpr std::uint8_t kExceptionBit = 0x80;

inline constexpr std::uint8_t kIllegalFunction = 0x01;
inline constexpr std::uint8_t kIllegalDataAddress = 0x02;
inline constexpr std::uint8_t kIllegalDataValue = 0x03;
inline constexpr std::uint8_t kServerDeviceFailure = 0x04;

enum class [[nodiscard]] FrameStatus : std::uint8_t{
    ok = 0,
    too_short,         // fewer bytes than the frame says or needs
    too_long,          // more bytes than the frame says, or than any frame has
    crc_mismatch,      // the CRC-16 does not fit
    other_unit,        // reply: from another unit than was asked
    other_function,    // reply: to another function; request: none of 03, 04, 06, 16
    exception_reply,   // reply: the device refused; its code is in Reply::exception_code
    wrong_byte_count,  // byte count and quantity do not fit each other
    wrong_echo,        // reply to a write: other address, value or quantity than was written
    wrong_quantity,    // request: no registers or more than one frame can carry
    no_room,           // the output span is too small
};

// What a master asks. `values` are register bytes as on the wire, two per register: empty for the
// reads, one register for 06. After parse_request it points into the frame.
struct Request {
  std::uint8_t unit = 0;
  std::uint8_t function = 0;
  std::uint16_t address = 0;
  std::uint16_t quantity = 0;  // registers; 1 for 06
  std::span<const std::uint8_t> values;
};

// What the device answered. `registers` points into the frame.
struct Reply {
  std::uint8_t exception_code = 0;  // 0 unless exception_reply
  RegisterView registers;           // of a read: `quantity` registers; else empty
};

// RTU frames. `length` is the number of bytes written to `frame`; 0 unless ok.
FrameStatus build_request(const Request& request, std::span<std::uint8_t> frame,
                          std::size_t& length);
FrameStatus build_read_reply(const Request& request, std::span<const std::uint8_t> register_bytes,
                             std::span<std::uint8_t> frame, std::size_t& length);
FrameStatus build_write_reply(const Request& request, std::span<std::uint8_t> frame,
                              std::size_t& length);
FrameStatus build_exception(const Request& request, std::uint8_t exception_code,
                            std::span<std::uint8_t> frame, std::size_t& length);

// After crc_mismatch or too_short nothing in `request` is meaningful; after the other failures unit
// and function are, so that an exception can be built.
FrameStatus parse_request(std::span<const std::uint8_t> frame, Request& request);
// `request` is what was sent; ok only when the reply fits it in every part.
FrameStatus parse_reply(std::span<const std::uint8_t> frame, const Request& request, Reply& reply);

// The same as PDU (function and data), for carriers with their own unit and checks (Modbus TCP).
// `unit` of the request is neither written nor compared.
FrameStatus build_request_pdu(const Request& request, std::span<std::uint8_t> pdu,
                              std::size_t& length);
FrameStatus build_read_reply_pdu(const Request& request,
                                 std::span<const std::uint8_t> register_bytes,
                                 std::span<std::uint8_t> pdu, std::size_t& length);
FrameStatus build_write_reply_pdu(const Request& request, std::span<std::uint8_t> pdu,
                                  std::size_t& length);
FrameStatus build_exception_pdu(const Request& request, std::uint8_t exception_code,
                                std::span<std::uint8_t> pdu, std::size_t& length);
FrameStatus parse_request_pdu(std::span<const std::uint8_t> pdu, Request& request);
FrameStatus parse_reply_pdu(std::span<const std::uint8_t> pdu, const Request& request,
                            Reply& reply);

// Wraps the PDU that stands at frame[1] already. REQUIRES: pdu_length <= kMaxPdu.
FrameStatus seal_rtu(std::uint8_t unit, std::size_t pdu_length, std::span<std::uint8_t> frame,
                     std::size_t& length);
// Checks length and CRC; `pdu` points into the frame.
FrameStatus open_rtu(std::span<const std::uint8_t> frame, std::uint8_t& unit,
                     std::span<const std::uint8_t>& pdu);

// Length of the whole RTU frame, told from its first bytes. `bytes` 0 = unknown_end.
struct ExpectedLength {
  enum class Kind : std::uint8_t {
    need_more,    // too few bytes to tell
    known,        // `bytes` is the length of the whole frame, at most kMaxRtuFrame
    unknown_end,  // a function whose length is not known, or a length no frame has
  };
  Kind kind = Kind::need_more;
  std::size_t bytes = 0;
};
[[nodiscard]] ExpectedLength expected_request_length(std::span<const std::uint8_t> first_bytes);
[[nodiscard]] ExpectedLength expected_reply_length(std::span<const std::uint8_t> first_bytes);

// Finds request frames in a byte stream: a frame ends where its length says, or, where the length
// is unknown, at the silence after it. Whatever is left over at a silence is dropped (silence =
// at least 3.5 characters on a line; over pipes any pause longer than the sender makes inside a
// frame). Checks no CRC: that is for whoever gets the frame.
class RequestAssembler {
 public:
  // The frame that `byte` completes. The span is valid until the next call.
  [[nodiscard]] std::optional<std::span<const std::uint8_t>> push(std::uint8_t byte);
  // The line fell silent: gives what was collected when its end could not be told otherwise and it
  // can be a frame; the next byte starts a new frame in any case.
  [[nodiscard]] std::optional<std::span<const std::uint8_t>> line_silent();

 private:
  std::array<std::uint8_t, kMaxRtuFrame> bytes_{};
  std::size_t length_ = 0;
  bool unknown_end_ = false;
  bool overflowed_ = false;
};

}  // namespace firmware::core
