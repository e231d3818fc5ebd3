#include "firmware-sim/core/record_codec.hpp"

#include <algorithm>

#include "firmware-sim/core/crc.hpp"

namespace firmware::core {
namespace {

constexpr std::size_t kCrcBytes = kRecordCrc * 2;  // what the CRC-32 of a record covers

// A broken precondition is our own bug: stop rather than touch other memory.
void require(bool holds) {
  if (!holds) {
    __builtin_trap();
  }
}

std::uint32_t packed_statuses(const Sample& sample) {
  std::uint32_t packed = 0;
  for (std::size_t channel = 0; channel < kChannels; ++channel) {
    packed |= static_cast<std::uint32_t>(sample.statuses[channel] & 0x0fU) << (4U * channel);
  }
  return packed;
}

// Flags, raw counts and statuses lie in this order in the record and in the live block.
void put_sample(const Sample& sample, RegisterWriter& writer, std::size_t first) {
  writer.put_u16(first, sample.flags);
  for (std::size_t channel = 0; channel < kChannels; ++channel) {
    writer.put_i16(first + 1 + channel, sample.raw_counts[channel]);
  }
  writer.put_u32(first + 1 + kChannels, packed_statuses(sample));
}

Sample sample_at(RegisterView registers, std::size_t first) {
  Sample sample;
  sample.flags = registers.u16(first);
  const std::uint32_t packed = registers.u32(first + 1 + kChannels);
  for (std::size_t channel = 0; channel < kChannels; ++channel) {
    sample.raw_counts[channel] = registers.i16(first + 1 + channel);
    sample.statuses[channel] = static_cast<std::uint8_t>((packed >> (4U * channel)) & 0x0fU);
  }
  return sample;
}
static_assert(kRecordRaw == kRecordFlags + 1 && kRecordStatuses == kRecordRaw + kChannels);
static_assert(kLiveRaw == kLiveFlags + 1 && kLiveStatuses == kLiveRaw + kChannels);

}  // namespace

RegisterView::RegisterView(std::span<const std::uint8_t> bytes) : bytes_(bytes) {
  require(bytes.size() % 2 == 0);
}

std::uint16_t RegisterView::u16(std::size_t index) const {
  require(index < size());
  return static_cast<std::uint16_t>((bytes_[2 * index] << 8U) | bytes_[2 * index + 1]);
}

std::int16_t RegisterView::i16(std::size_t index) const {
  return static_cast<std::int16_t>(u16(index));
}

std::uint32_t RegisterView::u32(std::size_t index) const {
  return (std::uint32_t{u16(index)} << 16U) | u16(index + 1);
}

std::uint64_t RegisterView::u64(std::size_t index) const {
  return (std::uint64_t{u32(index)} << 32U) | u32(index + 2);
}

RegisterView RegisterView::part(std::size_t first, std::size_t count) const {
  require(first <= size() && count <= size() - first);
  return RegisterView{bytes_.subspan(2 * first, 2 * count)};
}

RegisterWriter::RegisterWriter(std::span<std::uint8_t> bytes) : bytes_(bytes) {
  require(bytes.size() % 2 == 0);
}

void RegisterWriter::put_u16(std::size_t index, std::uint16_t value) {
  require(index < bytes_.size() / 2);
  bytes_[2 * index] = static_cast<std::uint8_t>(value >> 8U);
  bytes_[2 * index + 1] = static_cast<std::uint8_t>(value & 0xffU);
}

void RegisterWriter::put_i16(std::size_t index, std::int16_t value) {
  put_u16(index, static_cast<std::uint16_t>(value));
}

void RegisterWriter::put_u32(std::size_t index, std::uint32_t value) {
  put_u16(index, static_cast<std::uint16_t>(value >> 16U));
  put_u16(index + 1, static_cast<std::uint16_t>(value & 0xffffU));
}

void RegisterWriter::put_u64(std::size_t index, std::uint64_t value) {
  put_u32(index, static_cast<std::uint32_t>(value >> 32U));
  put_u32(index + 2, static_cast<std::uint32_t>(value & 0xffffffffU));
}

void encode_record(const BoxRecord& record, std::span<std::uint8_t, kRecordBytes> bytes) {
  RegisterWriter writer(bytes);
  writer.put_u32(kRecordBoot, record.boot);
  writer.put_u32(kRecordSequence, record.sequence);
  writer.put_u64(kRecordTicks, record.ticks_ms);
  put_sample(record.sample, writer, kRecordFlags);
  writer.put_u32(kRecordCrc, crc32(bytes.first(kCrcBytes)));
}

DecodeStatus decode_record(RegisterView registers, BoxRecord& record) {
  if (registers.size() != kRecordSize) {
    return DecodeStatus::wrong_size;
  }
  if (registers.u32(kRecordCrc) != crc32(registers.bytes().first(kCrcBytes))) {
    return DecodeStatus::crc_mismatch;
  }
  record.boot = registers.u32(kRecordBoot);
  record.sequence = registers.u32(kRecordSequence);
  record.ticks_ms = registers.u64(kRecordTicks);
  record.sample = sample_at(registers, kRecordFlags);
  return record.boot != 0 && record.sequence != 0 ? DecodeStatus::ok : DecodeStatus::wrong_value;
}

void encode_identity(const BoxIdentity& identity, std::span<std::uint8_t, kIdentityBytes> bytes) {
  RegisterWriter writer(bytes);
  writer.put_u16(kIdentityMagic, kMapMagic);
  writer.put_u16(kIdentityMapVersion, identity.map_version);
  writer.put_u64(kIdentitySerial, identity.serial);
  writer.put_u16(kIdentityFirmware, identity.firmware);
  writer.put_u16(kIdentityChannels, identity.fitted_channels);
  writer.put_u32(kIdentitySampleInterval, identity.sample_interval_s);
  writer.put_u32(kIdentityBoot, identity.boot);
  writer.put_u64(kIdentityTicks, identity.ticks_ms);
  writer.put_u32(kIdentityHeld, identity.held);
  writer.put_u32(kIdentityCapacity, identity.capacity);
  writer.put_u32(kIdentityOldestBoot, identity.oldest.boot);
  writer.put_u32(kIdentityOldestSequence, identity.oldest.sequence);
  writer.put_u32(kIdentityNewestBoot, identity.newest.boot);
  writer.put_u32(kIdentityNewestSequence, identity.newest.sequence);
}

DecodeStatus decode_identity(RegisterView registers, BoxIdentity& identity) {
  if (registers.size() != kIdentitySize) {
    return DecodeStatus::wrong_size;
  }
  if (registers.u16(kIdentityMagic) != kMapMagic) {
    return DecodeStatus::wrong_magic;
  }
  identity.map_version = registers.u16(kIdentityMapVersion);
  if (identity.map_version != kMapVersion) {
    return DecodeStatus::wrong_version;
  }
  identity.serial = registers.u64(kIdentitySerial);
  identity.firmware = registers.u16(kIdentityFirmware);
  identity.fitted_channels = registers.u16(kIdentityChannels);
  identity.sample_interval_s = registers.u32(kIdentitySampleInterval);
  identity.boot = registers.u32(kIdentityBoot);
  identity.ticks_ms = registers.u64(kIdentityTicks);
  identity.held = registers.u32(kIdentityHeld);
  identity.capacity = registers.u32(kIdentityCapacity);
  identity.oldest = {registers.u32(kIdentityOldestBoot), registers.u32(kIdentityOldestSequence)};
  identity.newest = {registers.u32(kIdentityNewestBoot), registers.u32(kIdentityNewestSequence)};
  const bool plausible =
      identity.serial != 0 && identity.boot != 0 && identity.fitted_channels <= kChannels;
  return plausible ? DecodeStatus::ok : DecodeStatus::wrong_value;
}

void encode_live(const LiveSample& live, std::span<std::uint8_t, kLiveBytes> bytes) {
  RegisterWriter writer(bytes);
  writer.put_u32(kLiveSequence, live.sequence);
  writer.put_u64(kLiveTicks, live.ticks_ms);
  put_sample(live.sample, writer, kLiveFlags);
}

DecodeStatus decode_live(RegisterView registers, LiveSample& live) {
  if (registers.size() != kLiveSize) {
    return DecodeStatus::wrong_size;
  }
  live.sequence = registers.u32(kLiveSequence);
  live.ticks_ms = registers.u64(kLiveTicks);
  live.sample = sample_at(registers, kLiveFlags);
  return DecodeStatus::ok;
}

void encode_lost(const LostBlock& lost, std::span<std::uint8_t, kLostBytes> bytes) {
  RegisterWriter writer(bytes);
  writer.put_u16(kLostCount, lost.count);
  writer.put_u32(kLostTotal, lost.total);
  for (std::size_t i = 0; i < kLostRanges; ++i) {
    const std::size_t first = kLostFirst + i * kLostRangeSize;
    writer.put_u32(first, lost.ranges[i].boot);
    writer.put_u32(first + 2, lost.ranges[i].first);
    writer.put_u32(first + 4, lost.ranges[i].last);
  }
}

DecodeStatus decode_lost(RegisterView registers, LostBlock& lost) {
  if (registers.size() != kLostSize) {
    return DecodeStatus::wrong_size;
  }
  lost.count = registers.u16(kLostCount);
  lost.total = registers.u32(kLostTotal);
  if (lost.count > kLostRanges) {
    return DecodeStatus::wrong_value;
  }
  for (std::size_t i = 0; i < kLostRanges; ++i) {
    const std::size_t first = kLostFirst + i * kLostRangeSize;
    lost.ranges[i] = {registers.u32(first), registers.u32(first + 2), registers.u32(first + 4)};
  }
  const auto listed = std::span(lost.ranges).first(lost.count);
  const bool plausible = std::all_of(listed.begin(), listed.end(), [](const LostRange& range) {
    return range.boot != 0 && range.first != 0 && range.first <= range.last;
  });
  return plausible ? DecodeStatus::ok : DecodeStatus::wrong_value;
}

DecodeStatus decode_window_count(RegisterView window, std::size_t& count) {
  if (window.size() != kWindowSize) {
    return DecodeStatus::wrong_size;
  }
  count = window.u16(kWindowCount);
  return count <= kWindowRecords ? DecodeStatus::ok : DecodeStatus::wrong_value;
}

RegisterView window_record(RegisterView window, std::size_t index) {
  require(index < kWindowRecords);
  return window.part(kWindowFirst + index * kRecordSize, kRecordSize);
}

}  // namespace firmware::core
