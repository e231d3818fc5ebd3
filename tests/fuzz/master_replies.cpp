// Fuzz target: whatever comes back to the master. The first byte picks what is tried: a reply frame
// as it comes or sealed with a right CRC-16 (no fuzzer finds one), or register blocks, whose
// records may get a right CRC-32, up to the gaps the logger would store.
#include <algorithm>
#include <array>
#include <optional>
#include <span>
#include <vector>

#include "firmware-sim/core/crc.hpp"
#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/core/record_codec.hpp"
#include "logger/ingest/box_records.hpp"
#include "tests/fuzz/fuzz_target.hpp"

namespace logger::ingest {
namespace {

namespace core = firmware::core;
using Bytes = std::span<const std::uint8_t>;
using fuzz::require;

// A request a master could have sent. `values` must outlive it.
core::Request request_from(fuzz::ByteSource& input, std::vector<std::uint8_t>& values) {
  constexpr std::array<std::uint8_t, 4> kFunctions{
      core::kReadHoldingRegisters, core::kReadInputRegisters, core::kWriteSingleRegister,
      core::kWriteMultipleRegisters};
  core::Request request{.unit = static_cast<std::uint8_t>(1 + input.u8() % core::kMaxUnit),
                        .function = kFunctions[input.u8() % kFunctions.size()],
                        .address = input.u16(),
                        .values = {}};
  const std::uint8_t wanted = input.u8();
  if (request.function == core::kWriteSingleRegister) {
    request.quantity = 1;
  } else {
    const bool writes = request.function == core::kWriteMultipleRegisters;
    request.quantity = static_cast<std::uint16_t>(
        1 + wanted % (writes ? core::kMaxWriteRegisters : core::kMaxReadRegisters));
  }
  if (request.function >= core::kWriteSingleRegister) {
    values.assign(request.quantity * std::size_t{2}, wanted);
    request.values = values;
  }
  return request;
}

// The frame as the master would cut it out of the bytes that came; all of them where it can't tell.
Bytes frame_in(Bytes bytes) {
  using Kind = core::ExpectedLength::Kind;
  for (std::size_t have = 0; have <= bytes.size(); ++have) {
    const core::ExpectedLength expected = core::expected_reply_length(bytes.first(have));
    if (expected.kind == Kind::need_more) {
      continue;
    }
    const core::ExpectedLength later = core::expected_reply_length(bytes);
    require(later.kind == expected.kind && later.bytes == expected.bytes,
            "a length once told stays");
    if (expected.kind == Kind::unknown_end) {
      return bytes;
    }
    require(expected.bytes >= core::kMinRtuFrame && expected.bytes <= core::kMaxRtuFrame,
            "a told length is one a frame can have");
    return bytes.first(std::min(expected.bytes, bytes.size()));
  }
  return bytes;
}

void check_reply(const core::Request& request, Bytes bytes) {
  const Bytes frame = frame_in(bytes);
  core::Reply reply;
  const core::FrameStatus status = core::parse_reply(frame, request, reply);
  const bool refused = status == core::FrameStatus::exception_reply;
  require(refused || reply.exception_code == 0, "only an exception has a code");
  if (status != core::FrameStatus::ok && !refused) {
    require(reply.registers.size() == 0, "a bad reply gives no registers");
    return;
  }
  require(frame.size() <= core::kMaxRtuFrame && core::crc16_modbus(frame) == 0 &&
              frame[0] == request.unit,
          "a believed reply is a sound frame of the unit asked");
  if (refused) {
    require(frame.size() == 5 && frame[1] == (request.function | core::kExceptionBit) &&
                reply.exception_code == frame[2],
            "an exception belongs to the function asked");
    return;
  }
  require(frame[1] == request.function, "a believed reply is to the function asked");
  if (request.values.empty()) {
    require(
        reply.registers.size() == request.quantity && frame.size() == 5U + 2U * request.quantity,
        "a read gives as many registers as were asked for");
    return;
  }
  std::array<std::uint8_t, core::kMaxRtuFrame> expected{};
  std::size_t length = 0;
  require(core::build_write_reply(request, expected, length) == core::FrameStatus::ok &&
              std::equal(frame.begin(), frame.end(), expected.begin(), expected.begin() + length),
          "a believed write was echoed byte for byte");
}

void try_reply(fuzz::ByteSource& input, bool seal) {
  std::vector<std::uint8_t> values;
  const core::Request request = request_from(input, values);
  if (!seal) {
    check_reply(request, input.rest());
    return;
  }
  const Bytes pdu = input.take(core::kMaxPdu);
  std::array<std::uint8_t, core::kMaxRtuFrame> frame{};
  std::copy(pdu.begin(), pdu.end(), frame.begin() + 1);
  std::size_t length = 0;
  require(core::seal_rtu(request.unit, pdu.size(), frame, length) == core::FrameStatus::ok,
          "a PDU is sealed");
  check_reply(request, Bytes(frame).first(length));
}

// A PDU of any bytes that is taken for a request is built again byte for byte.
void try_request(fuzz::ByteSource& input) {
  const Bytes pdu = input.rest();
  core::Request request;
  if (core::parse_request_pdu(pdu, request) != core::FrameStatus::ok) {
    return;
  }
  std::array<std::uint8_t, core::kMaxPdu> again{};
  std::size_t length = 0;
  require(core::build_request_pdu(request, again, length) == core::FrameStatus::ok &&
              std::equal(pdu.begin(), pdu.end(), again.begin(), again.begin() + length),
          "a request parsed is the request built");
}

// Frames of any request into any room are refused, or parsed as what they were built from.
void try_build(fuzz::ByteSource& input) {
  const std::uint8_t shape = input.u8();
  std::vector<std::uint8_t> room(shape < 128 ? shape / 4U : core::kMaxRtuFrame);
  core::Request request{input.u8(), input.u8(), input.u16(), input.u8(), {}};
  const std::uint8_t exception_code = input.u8();
  request.values = input.rest();
  std::size_t length = 0;
  core::Request parsed;
  if (core::build_request(request, room, length) == core::FrameStatus::ok) {
    require(core::parse_request(std::span(room).first(length), parsed) == core::FrameStatus::ok &&
                parsed.unit == request.unit && parsed.function == request.function &&
                parsed.address == request.address && parsed.quantity == request.quantity &&
                std::equal(parsed.values.begin(), parsed.values.end(), request.values.begin(),
                           request.values.end()),
            "a request built is the request parsed");
  }
  core::Reply reply;
  const auto parse = [&] {
    return core::parse_reply(std::span(room).first(length), request, reply);
  };
  if (core::build_read_reply(request, request.values, room, length) == core::FrameStatus::ok &&
      request.function <= core::kReadInputRegisters &&
      request.function >= core::kReadHoldingRegisters) {
    require(
        parse() == core::FrameStatus::ok && reply.registers.bytes().size() == request.values.size(),
        "a read reply built is the reply parsed");
  }
  if (core::build_write_reply(request, room, length) == core::FrameStatus::ok &&
      (request.function == core::kWriteSingleRegister ||
       request.function == core::kWriteMultipleRegisters)) {
    require(parse() == core::FrameStatus::ok, "a write reply built is the reply parsed");
  }
  if (core::build_exception(request, exception_code, room, length) == core::FrameStatus::ok &&
      (request.function & core::kExceptionBit) == 0) {
    require(parse() == core::FrameStatus::exception_reply && reply.exception_code == exception_code,
            "an exception built is the exception parsed");
  }
}

// `count` bytes of input, filled up with zeros.
std::vector<std::uint8_t> block_from(fuzz::ByteSource& input, std::size_t count) {
  const Bytes front = input.take(count);
  std::vector<std::uint8_t> block(front.begin(), front.end());
  block.resize(count, 0);
  return block;
}

void try_identity(fuzz::ByteSource& input) {
  const std::uint8_t shape = input.u8();
  std::vector<std::uint8_t> block =
      block_from(input, shape < 16 ? 2 * std::size_t{shape} : core::kIdentityBytes);
  if (shape >= 64) {
    core::RegisterWriter writer(block);
    writer.put_u16(core::kIdentityMagic, core::kMapMagic);
    writer.put_u16(core::kIdentityMapVersion, shape >= 96 ? core::kMapVersion : shape);
  }
  const auto identity = identity_from_registers(core::RegisterView(block));
  if (!identity) {
    require(!identity.error().context.empty(), "an error says what is wrong");
    return;
  }
  require(block.size() == core::kIdentityBytes && identity.value().serial != 0 &&
              identity.value().boot != 0 && identity.value().ticks_ms >= 0,
          "a believed identity holds possible values");
}

core::BoxRecord wire_record(fuzz::ByteSource& input, core::RecordKey& near) {
  const std::uint8_t step = input.u8();
  if (step >= 250) {
    near = {input.u32(), input.u32()};
  } else if (step >= 224) {
    near = {near.boot + 1, 1U + (step & 7U)};
  } else {
    near.sequence += step & 31U;
  }
  core::BoxRecord record{near.boot, near.sequence, step == 249 ? input.u64() : step, {}};
  record.sample.statuses.fill(step & 15U);
  return record;
}

// A window of records near one another, some with a CRC-32 that is wrong.
std::vector<std::uint8_t> window_from(fuzz::ByteSource& input, core::RecordKey& near) {
  std::vector<std::uint8_t> window(2 * std::size_t{core::kWindowSize}, 0);
  const std::uint8_t shape = input.u8();
  core::RegisterWriter(window).put_u16(core::kWindowCount, shape % 8);
  for (std::size_t i = 0; i < core::kWindowRecords; ++i) {
    const auto bytes = std::span(window).subspan(2 * (core::kWindowFirst + i * core::kRecordSize));
    core::encode_record(wire_record(input, near), bytes.first<core::kRecordBytes>());
    bytes[0] = static_cast<std::uint8_t>(bytes[0] ^ (shape >> (3 + i) & 1U));
  }
  return window;
}

std::vector<SequenceRange> lost_from(fuzz::ByteSource& input) {
  core::LostBlock lost;
  const std::uint8_t shape = input.u8();
  lost.count = shape % 11;
  core::RecordKey near{1U + (shape >> 4U) % 4U, 1};
  for (core::LostRange& range : lost.ranges) {
    const core::BoxRecord first = wire_record(input, near);
    range = {first.boot, first.sequence, first.sequence + input.u8() % 32U};
  }
  std::array<std::uint8_t, core::kLostBytes> bytes{};
  core::encode_lost(lost, bytes);
  const auto ranges = lost_from_registers(core::RegisterView(bytes));
  if (!ranges) {
    return {};
  }
  for (const SequenceRange& range : ranges.value()) {
    require(range.boot != 0 && range.first >= 1 && range.first <= range.last,
            "a believed lost range has records");
  }
  return ranges.value();
}

bool overlap(const SequenceRange& a, const SequenceRange& b) {
  return a.boot == b.boot && a.first <= b.last && b.first <= a.last;
}

void check_gaps(const RecordSequence& sequence, std::span<const SequenceRange> lost,
                std::optional<RecordId> after) {
  std::vector<SequenceRange> taken;
  std::optional<RecordId> last = after;
  for (const Record& record : sequence.records()) {
    require(!last || *last < record.id, "records are kept in order, none twice");
    last = record.id;
    taken.push_back({record.id.boot, record.id.sequence, record.id.sequence});
  }
  for (const store::Gap& gap : sequence.gaps(lost)) {
    const SequenceRange range{gap.boot, gap.first_sequence, gap.last_sequence};
    require(range.boot != 0 && range.first >= 1 && range.first <= range.last,
            "a gap has records that could have been");
    require(!after || RecordId{range.boot, range.first} > *after, "a gap is not of what was known");
    require(std::none_of(taken.begin(), taken.end(),
                         [&](const SequenceRange& other) { return overlap(range, other); }),
            "gaps overlap neither a record nor another gap");
    taken.push_back(range);
  }
}

void try_sequence(fuzz::ByteSource& input) {
  const std::uint8_t start = input.u8();
  core::RecordKey near{1U + start % 4U, start / 4U};
  std::optional<RecordId> after;
  if (start % 2 == 1 && near.sequence != 0) {
    after = RecordId{near.boot, near.sequence};
  }
  const auto lost = lost_from(input);
  RecordSequence sequence(after);
  for (int windows = 0; windows < 8 && !input.empty(); ++windows) {
    const auto window = window_from(input, near);
    const auto records = window_from_registers(core::RegisterView(window));
    if (!records) {
      continue;
    }
    require(records.value().size() <= core::kWindowRecords, "a window holds five records at most");
    for (const std::optional<Record>& record : records.value()) {
      require(!record || (key_from_id(record->id).has_value() && record->ticks_ms >= 0),
              "a believed record has a possible identity");
      sequence.add(record);
    }
  }
  check_gaps(sequence, lost, after);
}

// Register blocks as they came, of any even size.
void try_raw_blocks(fuzz::ByteSource& input) {
  const std::uint8_t size = input.u8();
  std::vector<std::uint8_t> block =
      block_from(input, size < 128 ? 2 * std::size_t{size} : 2 * std::size_t{core::kWindowSize});
  const core::RegisterView registers(block);
  if (const auto records = window_from_registers(registers); records) {
    require(records.value().size() <= core::kWindowRecords, "a window holds five records at most");
  }
  if (const auto lost = lost_from_registers(registers); lost) {
    require(lost.value().size() <= core::kLostRanges, "eight lost ranges at most");
  }
  core::LiveSample live;
  require(core::decode_live(registers, live) != core::DecodeStatus::ok ||
              registers.size() == core::kLiveSize,
          "a live block has its size");
  static_cast<void>(key_from_id({input.u32(), static_cast<std::int64_t>(input.u64())}));
}

}  // namespace
}  // namespace logger::ingest

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace logger::ingest;
  fuzz::ByteSource input({data, size});
  switch (input.u8() % 7) {
    case 0:
      try_reply(input, false);
      break;
    case 1:
      try_reply(input, true);
      break;
    case 2:
      try_identity(input);
      break;
    case 3:
      try_request(input);
      break;
    case 4:
      try_build(input);
      break;
    case 5:
      try_raw_blocks(input);
      break;
    default:
      try_sequence(input);
      break;
  }
  return 0;
}
