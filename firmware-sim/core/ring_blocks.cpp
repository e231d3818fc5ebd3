#include "firmware-sim/core/ring_blocks.hpp"

#include <algorithm>
#include <array>

#include "firmware-sim/core/crc.hpp"

namespace firmware::core {
namespace {

constexpr std::uint32_t kHeaderMagic = 0x44575231;
constexpr std::size_t kHeaderLost = 34;  // bytes, as the layout in the header file
constexpr std::size_t kHeaderCrc = kHeaderLost + kLostBytes;
constexpr std::size_t kHeaderBytes = kHeaderCrc + 4;
constexpr std::size_t kTouched = kHeaderBytes;
constexpr std::size_t kPass = kTouched + 1;
constexpr std::size_t kPassed = kPass + 2;
constexpr std::uint32_t kPassUnit = PassMark::kMostLost + 1;
constexpr std::size_t kSlots = 144;
constexpr std::size_t kMarkBytes = 2;
constexpr std::size_t kSlotBytes = kRecordBytes + kMarkBytes;
static_assert(kHeaderBytes == 140 && kPassed < kSlots);
static_assert(RingBlocks::kMinBlockSize >= kSlots + 2 * kSlotBytes);

// Register indices of the header fields.
constexpr std::size_t kMagicAt = 0;
constexpr std::size_t kBlockSizeAt = 2;
constexpr std::size_t kBlocksAt = 4;
constexpr std::size_t kSerialAt = 6;
constexpr std::size_t kBootAt = 8;
constexpr std::size_t kFirstOrdinalAt = 10;
constexpr std::size_t kBeforeBootAt = 12;
constexpr std::size_t kBeforeSequenceAt = 14;
constexpr std::size_t kSettingAt = 16;

using HeaderBytes = std::array<std::uint8_t, kHeaderBytes>;

bool is_blank(std::span<const std::uint8_t> bytes) {
  return std::all_of(bytes.begin(), bytes.end(), [](std::uint8_t byte) { return byte == 0xff; });
}

HeaderBytes bytes_from_header(const BlockHeader& header, std::size_t block_size,
                              std::uint32_t blocks) {
  HeaderBytes bytes{};
  RegisterWriter writer(bytes);
  writer.put_u32(kMagicAt, kHeaderMagic);
  writer.put_u32(kBlockSizeAt, static_cast<std::uint32_t>(block_size));
  writer.put_u32(kBlocksAt, blocks);
  writer.put_u32(kSerialAt, header.serial);
  writer.put_u32(kBootAt, header.boot);
  writer.put_u32(kFirstOrdinalAt, header.first_ordinal);
  writer.put_u32(kBeforeBootAt, header.before.boot);
  writer.put_u32(kBeforeSequenceAt, header.before.sequence);
  writer.put_u16(kSettingAt, header.setting);
  encode_lost(header.lost, std::span(bytes).subspan<kHeaderLost, kLostBytes>());
  writer.put_u32(kHeaderCrc / 2, crc32(std::span(bytes).first(kHeaderCrc)));
  return bytes;
}

}  // namespace

Status RingBlocks::measure() {
  const std::size_t block_size = memory_.block_size();
  if (block_size < kMinBlockSize || memory_.size() % block_size != 0 ||
      memory_.size() / block_size < kMinBlocks || (std::uint64_t{memory_.size()} >> 32U) != 0) {
    return Status::invalid_argument;
  }
  blocks_ = static_cast<std::uint32_t>(memory_.size() / block_size);
  slots_ = static_cast<std::uint32_t>((block_size - kSlots) / kSlotBytes);
  return Status::ok;
}

std::size_t RingBlocks::block_offset(std::uint32_t serial) const {
  return (serial % blocks_) * memory_.block_size();
}

std::size_t RingBlocks::slot_offset(std::uint32_t serial, std::uint32_t slot) const {
  return block_offset(serial) + kSlots + slot * kSlotBytes;
}

Status RingBlocks::read_header_at(std::uint32_t index, BlockHeader& header, bool& valid) const {
  HeaderBytes bytes{};
  valid = false;
  if (const Status status = memory_.read(index * memory_.block_size(), bytes);
      status != Status::ok) {
    return status;
  }
  const RegisterView view{bytes};
  if (view.u32(kMagicAt) != kHeaderMagic || view.u32(kBlocksAt) != blocks_ ||
      view.u32(kBlockSizeAt) != memory_.block_size() ||
      view.u32(kHeaderCrc / 2) != crc32(std::span(bytes).first(kHeaderCrc))) {
    return Status::ok;
  }
  header.serial = view.u32(kSerialAt);
  header.boot = view.u32(kBootAt);
  header.first_ordinal = view.u32(kFirstOrdinalAt);
  header.before = {view.u32(kBeforeBootAt), view.u32(kBeforeSequenceAt)};
  header.setting = view.u16(kSettingAt);
  const DecodeStatus lost = decode_lost(view.part(kHeaderLost / 2, kLostSize), header.lost);
  valid = lost == DecodeStatus::ok && header.serial != 0 && header.serial % blocks_ == index;
  return Status::ok;
}

Status RingBlocks::read_header(std::uint32_t serial, BlockHeader& header, bool& valid) const {
  const Status status = read_header_at(serial % blocks_, header, valid);
  valid = valid && header.serial == serial;
  return status;
}

Status RingBlocks::begin_block(const BlockHeader& header) {
  if (const Status status = memory_.erase(header.serial % blocks_); status != Status::ok) {
    return status;
  }
  return program_checked(block_offset(header.serial),
                         bytes_from_header(header, memory_.block_size(), blocks_));
}

Status RingBlocks::read_slot(std::uint32_t serial, std::uint32_t slot, Slot& content) const {
  std::array<std::uint8_t, kSlotBytes> bytes{};
  if (const Status status = memory_.read(slot_offset(serial, slot), bytes); status != Status::ok) {
    return status;
  }
  content = Slot{};
  content.marks = RegisterView{bytes}.u16(kRecordSize);
  if (is_blank(bytes)) {
    return Status::ok;
  }
  const DecodeStatus decoded =
      decode_record(RegisterView{std::span(bytes).first(kRecordBytes)}, content.record);
  if (decoded == DecodeStatus::ok) {
    content.kind = SlotKind::record;
  } else if (decoded == DecodeStatus::wrong_value && content.record.boot == 0) {
    content.kind = SlotKind::event;
    content.event = content.record.sequence;
    content.value = content.record.ticks_ms;
  } else {
    content.kind = SlotKind::dead;
  }
  return Status::ok;
}

Status RingBlocks::write_record(std::uint32_t serial, std::uint32_t slot, const BoxRecord& record) {
  std::array<std::uint8_t, kRecordBytes> bytes{};
  encode_record(record, bytes);
  const std::size_t offset = slot_offset(serial, slot);
  const Status status = program_checked(offset, bytes);
  if (status != Status::ok) {
    // Clear it all, so that a record that did get in but read back wrong once never shows up
    // beside its second copy. A refusal here changes nothing: the slot is given up already.
    bytes.fill(0);
    static_cast<void>(memory_.program(offset, bytes));
  }
  return status;
}

Status RingBlocks::write_event(std::uint32_t serial, std::uint32_t slot, EventKind kind,
                               std::uint64_t value) {
  return write_record(
      serial, slot,
      BoxRecord{.sequence = static_cast<std::uint32_t>(kind), .ticks_ms = value, .sample = {}});
}

Status RingBlocks::write_marks(std::uint32_t serial, std::uint32_t slot, std::uint16_t marks) {
  std::array<std::uint8_t, kMarkBytes> bytes{};
  RegisterWriter(bytes).put_u16(0, marks);
  return program_checked(slot_offset(serial, slot) + kRecordBytes, bytes);
}

Status RingBlocks::read_touched(std::uint32_t serial, bool& touched) const {
  std::array<std::uint8_t, 1> byte{};
  const Status status = memory_.read(block_offset(serial) + kTouched, byte);
  touched = byte[0] != 0xff;
  return status;
}

Status RingBlocks::touch(std::uint32_t serial) {
  const std::array<std::uint8_t, 1> cleared{};
  return program_checked(block_offset(serial) + kTouched, cleared);
}

Status RingBlocks::read_pass_mark(std::uint32_t serial, PassMark& mark) const {
  std::array<std::uint8_t, 3> bytes{};
  const Status status = memory_.read(block_offset(serial) + kPass, bytes);
  mark = PassMark{};
  if (status == Status::ok && bytes[2] != 0xff) {
    const std::uint32_t word = RegisterView{std::span(bytes).first(2)}.u16(0);
    mark = {word / kPassUnit, word % kPassUnit};
  }
  return status;
}

Status RingBlocks::write_pass_mark(std::uint32_t serial, const PassMark& mark) {
  if (mark.passed > PassMark::kMostPassed || mark.lost > PassMark::kMostLost) {
    return Status::invalid_argument;
  }
  std::array<std::uint8_t, 2> bytes{};
  RegisterWriter(bytes).put_u16(0, static_cast<std::uint16_t>(mark.passed * kPassUnit + mark.lost));
  if (const Status status = program_checked(block_offset(serial) + kPass, bytes);
      status != Status::ok) {
    return status;
  }
  const std::array<std::uint8_t, 1> cleared{};
  return program_checked(block_offset(serial) + kPassed, cleared);
}

Status RingBlocks::program_checked(std::size_t offset, std::span<const std::uint8_t> bytes) {
  if (const Status status = memory_.program(offset, bytes); status != Status::ok) {
    return status;
  }
  std::array<std::uint8_t, 32> back{};
  for (std::size_t done = 0; done < bytes.size();) {
    const std::size_t count = std::min(back.size(), bytes.size() - done);
    const auto part = std::span(back).first(count);
    if (const Status status = memory_.read(offset + done, part); status != Status::ok) {
      return status;
    }
    if (!std::equal(part.begin(), part.end(), bytes.subspan(done).begin())) {
      return Status::memory_fault;
    }
    done += count;
  }
  return Status::ok;
}

}  // namespace firmware::core
