// Records, identity, live sample and lost ranges to and from the registers of wire_format.hpp, for
// the box and the master alike. Freestanding, pure; spans are read during the call only.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <utility>

#include "firmware-sim/core/wire_format.hpp"

namespace firmware::core {

// One sample before it has an identity. Counts: centi degC, centi %RH, millivolt (register map).
struct Sample {
  std::uint16_t flags = 0;
  std::array<std::int16_t, kChannels> raw_counts{};
  std::array<std::uint8_t, kChannels> statuses{};  // 4 bits used, values of the register map
  bool operator==(const Sample&) const = default;
};

// Identity of a record within its box; ordered as taken. {0, 0} is no record.
struct RecordKey {
  std::uint32_t boot = 0;      // from 1
  std::uint32_t sequence = 0;  // from 1 in each boot
  constexpr auto operator<=>(const RecordKey&) const = default;
};

struct BoxRecord {
  std::uint32_t boot = 0;
  std::uint32_t sequence = 0;
  std::uint64_t ticks_ms = 0;  // since the start of that boot
  Sample sample;
  [[nodiscard]] constexpr RecordKey key() const { return {boot, sequence}; }
  bool operator==(const BoxRecord&) const = default;
};

struct BoxIdentity {
  std::uint16_t map_version = 0;
  std::uint64_t serial = 0;
  std::uint16_t firmware = 0;  // major * 256 + minor
  std::uint16_t fitted_channels = 0;
  std::uint32_t sample_interval_s = 0;
  std::uint32_t boot = 0;  // of the running boot
  std::uint64_t ticks_ms = 0;
  std::uint32_t held = 0;      // records
  std::uint32_t capacity = 0;  // records
  RecordKey oldest;            // {0, 0} when none is held
  RecordKey newest;
  bool operator==(const BoxIdentity&) const = default;
};

struct LiveSample {
  std::uint32_t sequence = 0;  // 0 = no sample in this boot yet
  std::uint64_t ticks_ms = 0;
  Sample sample;
  bool operator==(const LiveSample&) const = default;
};

// Records first..last of one boot, overwritten before they were released.
struct LostRange {
  std::uint32_t boot = 0;
  std::uint32_t first = 0;
  std::uint32_t last = 0;
  bool operator==(const LostRange&) const = default;
};

struct LostBlock {
  std::uint32_t total = 0;                      // records lost since manufacture
  std::uint16_t count = 0;                      // ranges in use
  std::array<LostRange, kLostRanges> ranges{};  // oldest first
  bool operator==(const LostBlock&) const = default;
};

enum class [[nodiscard]] DecodeStatus : std::uint8_t{
    ok = 0,
    wrong_size,     // another number of registers than the map says
    wrong_magic,    // identity: not a box of this map
    wrong_version,  // identity: a map this code does not know; map_version is filled in
    crc_mismatch,   // record: its CRC-32 does not fit
    wrong_value,    // a field outside what the map allows (boot or sequence 0, count too large)
};

// Registers in a row as they are on the wire, two bytes each, high byte first. Does not own.
class RegisterView {
 public:
  constexpr RegisterView() = default;
  // REQUIRES: an even number of bytes.
  explicit RegisterView(std::span<const std::uint8_t> bytes);
  [[nodiscard]] std::size_t size() const { return bytes_.size() / 2; }  // registers
  [[nodiscard]] std::span<const std::uint8_t> bytes() const { return bytes_; }
  // REQUIRES: everything asked for lies within size(). Wider integers: high word first.
  [[nodiscard]] std::uint16_t u16(std::size_t index) const;
  [[nodiscard]] std::int16_t i16(std::size_t index) const;
  [[nodiscard]] std::uint32_t u32(std::size_t index) const;
  [[nodiscard]] std::uint64_t u64(std::size_t index) const;
  [[nodiscard]] RegisterView part(std::size_t first, std::size_t count) const;

 private:
  std::span<const std::uint8_t> bytes_;
};

// Writes registers in the same order. Does not own. REQUIRES as RegisterView.
class RegisterWriter {
 public:
  explicit RegisterWriter(std::span<std::uint8_t> bytes);
  void put_u16(std::size_t index, std::uint16_t value);
  void put_i16(std::size_t index, std::int16_t value);
  void put_u32(std::size_t index, std::uint32_t value);
  void put_u64(std::size_t index, std::uint64_t value);

 private:
  std::span<std::uint8_t> bytes_;
};

inline constexpr std::size_t kRecordBytes = kRecordSize * 2;      // 42, as on the wire
inline constexpr std::size_t kIdentityBytes = kIdentitySize * 2;  // 56
inline constexpr std::size_t kLiveBytes = kLiveSize * 2;          // 34
inline constexpr std::size_t kLostBytes = kLostSize * 2;          // 102

void encode_record(const BoxRecord& record, std::span<std::uint8_t, kRecordBytes> bytes);
void encode_identity(const BoxIdentity& identity, std::span<std::uint8_t, kIdentityBytes> bytes);
void encode_live(const LiveSample& live, std::span<std::uint8_t, kLiveBytes> bytes);
void encode_lost(const LostBlock& lost, std::span<std::uint8_t, kLostBytes> bytes);

// Outputs are meaningful only after ok. `registers` holds exactly one record, or one block.
DecodeStatus decode_record(RegisterView registers, BoxRecord& record);
DecodeStatus decode_identity(RegisterView registers, BoxIdentity& identity);
DecodeStatus decode_live(RegisterView registers, LiveSample& live);
DecodeStatus decode_lost(RegisterView registers, LostBlock& lost);
// A whole window (106 registers): the count and, for each record held, its own registers.
DecodeStatus decode_window_count(RegisterView window, std::size_t& count);
// REQUIRES: window of 106 registers, index < kWindowRecords.
[[nodiscard]] RegisterView window_record(RegisterView window, std::size_t index);

}  // namespace firmware::core
