#include "firmware-sim/core/probe_box.hpp"

#include <algorithm>
#include <array>
#include <optional>

namespace firmware::core {
namespace {

constexpr std::size_t kLargestBlock = kWindowSize;  // registers
static_assert(kLargestBlock >= kLostSize && kLargestBlock <= kMaxReadRegisters);

struct Block {
  std::uint16_t first = 0;
  std::uint16_t size = 0;  // registers
};

constexpr std::array<Block, 6> kSingleBlocks{{{kRegIdentity, kIdentitySize},
                                              {kRegLive, kLiveSize},
                                              {kRegLost, kLostSize},
                                              {kRegSelect, kCommandSize},
                                              {kRegRelease, kCommandSize},
                                              {kRegSampleInterval, 1}}};
constexpr std::uint32_t kWindowsEnd = kRegWindow + kWindows * kWindowStride;

bool is_window(std::uint16_t address) { return address >= kRegWindow && address < kWindowsEnd; }

// The block that `address` lies in.
std::optional<Block> block_at(std::uint16_t address) {
  if (is_window(address)) {
    const auto offset = static_cast<std::uint16_t>((address - kRegWindow) % kWindowStride);
    return offset < kWindowSize ? std::optional<Block>(Block{
                                      static_cast<std::uint16_t>(address - offset), kWindowSize})
                                : std::nullopt;
  }
  const auto* const block =
      std::find_if(kSingleBlocks.begin(), kSingleBlocks.end(), [address](const Block& candidate) {
        return address >= candidate.first && address - candidate.first < candidate.size;
      });
  return block != kSingleBlocks.end() ? std::optional<Block>(*block) : std::nullopt;
}

bool touches(const Request& request, std::uint16_t block) {
  return request.address < block + kCommandSize &&
         std::uint32_t{request.address} + request.quantity > block;
}

bool is_whole_command(const Request& request, std::uint16_t block) {
  return request.function == kWriteMultipleRegisters && request.address == block &&
         request.quantity == kCommandSize;
}

std::uint32_t window_index(std::uint16_t block) {
  return static_cast<std::uint32_t>(block - kRegWindow) / kWindowStride;
}

std::uint8_t exception_from_frame(FrameStatus status) {
  if (status == FrameStatus::ok) {
    return 0;
  }
  return status == FrameStatus::other_function ? kIllegalFunction : kIllegalDataValue;
}

}  // namespace

ProbeBox::ProbeBox(NonVolatileMemory& memory, const BoxSettings& settings)
    : settings_(settings), ring_(memory) {}

Status ProbeBox::start() {
  started_ = false;
  const bool valid = settings_.address >= 1 && settings_.address <= kMaxUnit &&
                     settings_.serial != 0 && settings_.fitted_channels <= kChannels &&
                     settings_.sample_interval_s >= 1 &&
                     settings_.sample_interval_s <= kMaxSampleIntervalS;
  if (!valid) {
    return Status::invalid_argument;
  }
  if (const Status status = ring_.start(); status != Status::ok) {
    return status;
  }
  ticks_ms_ = 0;
  live_ = LiveSample{};
  selected_ = 0;
  selected_key_ = RecordKey{};
  has_selection_ = false;
  read_through_ = ring_.first_held();
  lost_total_read_ = 0;
  started_ = true;
  return Status::ok;
}

std::uint16_t ProbeBox::sample_interval_s() const {
  return ring_.setting() != 0 ? ring_.setting() : settings_.sample_interval_s;
}

Status ProbeBox::store_sample(const Sample& sample) {
  if (!started_) {
    return Status::not_started;
  }
  if (std::any_of(sample.statuses.begin(), sample.statuses.end(),
                  [](std::uint8_t status) { return status > 0x0f; })) {
    return Status::invalid_argument;
  }
  BoxRecord record{.boot = ring_.boot(),
                   .sequence = live_.sequence + 1,
                   .ticks_ms = ticks_ms_,
                   .sample = sample};
  if (ring_.bad_blocks() > 0) {
    record.sample.flags |= kFlagSelfTestFailed;
  }
  const Status status = ring_.append(record);
  if (status == Status::ok) {
    live_ = {record.sequence, record.ticks_ms, record.sample};
  }
  return status;
}

Status ProbeBox::answer(std::span<const std::uint8_t> request_frame, std::span<std::uint8_t> reply,
                        std::size_t& reply_length) {
  reply_length = 0;
  if (!started_) {
    return Status::not_started;
  }
  if (reply.size() < kMaxRtuFrame) {
    return Status::invalid_argument;
  }
  std::uint8_t unit = 0;
  std::span<const std::uint8_t> pdu;
  if (open_rtu(request_frame, unit, pdu) != FrameStatus::ok) {
    return Status::ok;
  }
  if (unit == kBroadcastUnit) {
    // No one can be sure to have been heard, so a broadcast never selects or releases.
    Request request;
    if (parse_request_pdu(pdu, request) == FrameStatus::ok && !request.values.empty() &&
        request.address == kRegSampleInterval) {
      static_cast<void>(write_registers(request));
    }
    return Status::ok;
  }
  if (unit != settings_.address) {
    return Status::ok;
  }
  std::size_t pdu_length = 0;
  const Status status = answer_pdu(pdu, reply.subspan(1, kMaxPdu), pdu_length);
  const FrameStatus sealed = seal_rtu(unit, pdu_length, reply, reply_length);
  return sealed == FrameStatus::ok ? status : Status::invalid_argument;
}

Status ProbeBox::answer_pdu(std::span<const std::uint8_t> request_pdu,
                            std::span<std::uint8_t> reply_pdu, std::size_t& reply_length) {
  reply_length = 0;
  if (!started_) {
    return Status::not_started;
  }
  if (reply_pdu.size() < kMaxPdu || request_pdu.empty()) {
    return Status::invalid_argument;
  }
  Request request;
  Outcome outcome{exception_from_frame(parse_request_pdu(request_pdu, request)), Status::ok};
  const bool reads =
      request.function == kReadHoldingRegisters || request.function == kReadInputRegisters;
  std::array<std::uint8_t, 2 * kLargestBlock> bytes{};
  std::span<const std::uint8_t> register_bytes;
  if (outcome.exception_code == 0 && reads) {
    outcome = read_registers(request, bytes);
    register_bytes = std::span(bytes).first(
        std::min<std::size_t>(bytes.size(), request.quantity * std::size_t{2}));
  } else if (outcome.exception_code == 0) {
    outcome = write_registers(request);
  }
  FrameStatus built = FrameStatus::ok;
  if (outcome.exception_code != 0) {
    built = build_exception_pdu(request, outcome.exception_code, reply_pdu, reply_length);
  } else if (reads) {
    built = build_read_reply_pdu(request, register_bytes, reply_pdu, reply_length);
  } else {
    built = build_write_reply_pdu(request, reply_pdu, reply_length);
  }
  return built == FrameStatus::ok ? outcome.status : Status::invalid_argument;
}

ProbeBox::Outcome ProbeBox::read_registers(const Request& request,
                                           std::span<std::uint8_t> register_bytes) {
  const std::optional<Block> block = block_at(request.address);
  if (!block || request.address + request.quantity > block->first + block->size) {
    return {kIllegalDataAddress, Status::ok};
  }
  std::array<std::uint8_t, 2 * kLargestBlock> whole{};
  const auto block_bytes = std::span(whole).first(block->size * std::size_t{2});
  const Outcome outcome = fill_block(block->first, block_bytes);
  if (outcome.exception_code != 0) {
    return outcome;
  }
  const auto offset = static_cast<std::size_t>(request.address - block->first);
  const auto wanted = block_bytes.subspan(2 * offset, request.quantity * std::size_t{2});
  std::copy(wanted.begin(), wanted.end(), register_bytes.begin());
  if (is_window(block->first) && offset == 0) {
    note_window_read(block->first, (request.quantity - std::size_t{kWindowFirst}) / kRecordSize);
  }
  if (block->first == kRegLost && request.quantity == kLostSize) {
    lost_total_read_ = ring_.lost().total;
  }
  return outcome;
}

ProbeBox::Outcome ProbeBox::fill_block(std::uint16_t block, std::span<std::uint8_t> bytes) {
  RegisterWriter writer(bytes);
  switch (block) {
    case kRegIdentity:
      encode_identity(identity(), bytes.first<kIdentityBytes>());
      break;
    case kRegLive:
      encode_live(live_, bytes.first<kLiveBytes>());
      break;
    case kRegLost:
      encode_lost(ring_.lost(), bytes.first<kLostBytes>());
      break;
    case kRegSelect:
      writer.put_u32(0, selected_key_.boot);
      writer.put_u32(2, selected_key_.sequence);
      break;
    case kRegRelease:
      writer.put_u32(0, ring_.released().boot);
      writer.put_u32(2, ring_.released().sequence);
      break;
    case kRegSampleInterval:
      writer.put_u16(0, sample_interval_s());
      break;
    default:
      return fill_window(block, bytes);
  }
  return {};
}

ProbeBox::Outcome ProbeBox::fill_window(std::uint16_t block, std::span<std::uint8_t> bytes) {
  std::array<BoxRecord, kWindowRecords> records{};
  std::size_t count = 0;
  if (has_selection_) {
    const auto first = selected_ + window_index(block) * static_cast<std::uint32_t>(kWindowRecords);
    if (const Status status = ring_.read(first, records, count); status != Status::ok) {
      return {kServerDeviceFailure, status};
    }
  }
  RegisterWriter(bytes).put_u16(kWindowCount, static_cast<std::uint16_t>(count));
  for (std::size_t i = 0; i < count; ++i) {
    encode_record(records[i],
                  bytes.subspan(2 * (kWindowFirst + i * kRecordSize)).first<kRecordBytes>());
  }
  return {};
}

// A window counts only when everything held before it was read. A window that holds fewer records
// than it spans (the newest one, or one with a record that memory has lost) counts up to its end,
// so that a lost record never blocks the release of those after it.
void ProbeBox::note_window_read(std::uint16_t block, std::size_t whole_records) {
  if (!has_selection_) {
    return;
  }
  const auto span = static_cast<std::uint32_t>(std::min(whole_records, kWindowRecords));
  const std::uint32_t begin =
      selected_ + window_index(block) * static_cast<std::uint32_t>(kWindowRecords);
  read_through_ = std::max(read_through_, ring_.first_held());
  if (begin <= read_through_) {
    const std::uint32_t end = std::min(begin + span, ring_.next_ordinal());
    read_through_ = std::max(read_through_, end);
  }
}

ProbeBox::Outcome ProbeBox::write_registers(const Request& request) {
  const RegisterView values{request.values};
  if (is_whole_command(request, kRegSelect)) {
    return select({values.u32(0), values.u32(2)});
  }
  if (is_whole_command(request, kRegRelease)) {
    return release({values.u32(0), values.u32(2)});
  }
  if (touches(request, kRegSelect) || touches(request, kRegRelease)) {
    return {kIllegalDataValue, Status::ok};
  }
  if (request.address == kRegSampleInterval && request.quantity == 1) {
    return write_interval(values.u16(0));
  }
  return {kIllegalDataAddress, Status::ok};
}

ProbeBox::Outcome ProbeBox::write_interval(std::uint16_t interval_s) {
  if (interval_s < 1 || interval_s > kMaxSampleIntervalS) {
    return {kIllegalDataValue, Status::ok};
  }
  ring_.set_setting(interval_s);
  return {};
}

ProbeBox::Outcome ProbeBox::select(RecordKey key) {
  std::uint32_t ordinal = ring_.first_held();
  if (key != RecordKey{}) {
    bool exact = false;
    const RecordKey next{ring_.boot(), live_.sequence + 1};
    if (key.boot == 0 || key.sequence == 0 || key.boot > ring_.boot()) {
      return {kIllegalDataValue, Status::ok};
    }
    if (const Status status = ring_.find(key, ordinal, exact); status != Status::ok) {
      return {kServerDeviceFailure, status};
    }
    if (ordinal == ring_.next_ordinal() && key > next) {
      return {kIllegalDataValue, Status::ok};
    }
  }
  selected_ = ordinal;
  selected_key_ = key;
  has_selection_ = true;
  return {};
}

ProbeBox::Outcome ProbeBox::release(RecordKey key) {
  if (key.boot == 0 || key.sequence == 0 || key.boot > ring_.boot()) {
    return {kIllegalDataValue, Status::ok};
  }
  const bool forgotten = key <= ring_.newest() && (ring_.held() == 0 || key < ring_.oldest());
  if (!forgotten) {
    std::uint32_t ordinal = 0;
    bool exact = false;
    if (const Status status = ring_.find(key, ordinal, exact); status != Status::ok) {
      return {kServerDeviceFailure, status};
    }
    if (!exact || ordinal >= read_through_) {
      return {kIllegalDataValue, Status::ok};
    }
    if (const Status status = ring_.release_through(ordinal); status != Status::ok) {
      return {kServerDeviceFailure, status};
    }
  }
  const Status status = ring_.forget_lost(lost_total_read_);
  return status == Status::ok ? Outcome{} : Outcome{kServerDeviceFailure, status};
}

BoxIdentity ProbeBox::identity() const {
  const bool any = ring_.held() != 0;
  return {.map_version = kMapVersion,
          .serial = settings_.serial,
          .firmware = kFirmwareVersion,
          .fitted_channels = settings_.fitted_channels,
          .sample_interval_s = sample_interval_s(),
          .boot = ring_.boot(),
          .ticks_ms = ticks_ms_,
          .held = ring_.held(),
          .capacity = ring_.capacity(),
          .oldest = ring_.oldest(),
          .newest = any ? ring_.newest() : RecordKey{}};
}

}  // namespace firmware::core
