// The bytes of a leaf of the evidence log: one committed row with its identity and all its values,
// in one spelling. Layout byte for byte: docs/evidence-log.md. Numbers are big endian of fixed
// width, texts have their length before them, so no two rows share an encoding. Pure; any thread.
#pragma once

#include <bit>
#include <concepts>
#include <cstdint>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>

#include "analysis/base/clock_map.hpp"
#include "analysis/base/record.hpp"
#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/evidence/fault.hpp"

namespace analysis::evidence {

// First byte of a leaf. Values are permanent (stored and hashed).
enum class LeafKind : std::uint8_t {
  mark = 1,  // simulated or real
  exchange = 2,
  record = 3,
  gap = 4,
  calibration = 5,  // without salt, as schema version 2 wrote them
  note = 6,         // without salt, likewise
  event = 7,
  message = 8,  // without salt, likewise
  salted_note = 9,
  salted_calibration = 10,
  salted_message = 11,
};

// "record", "clock exchange" and the like.
[[nodiscard]] const char* name_of(LeafKind kind);

// Of a salted leaf: without it a hash would tell its text to whoever tries names.
inline constexpr std::size_t kLeafSaltBytes = 16;

// Puts the fields of a leaf one after the other.
class LeafBytes {
 public:
  explicit LeafBytes(LeafKind kind) {
    bytes_.reserve(kTypicalBytes);
    put(static_cast<std::uint8_t>(kind));
  }

  // Two's complement, big endian, as wide as its type.
  template <std::integral T>
  LeafBytes& put(T value) {
    const auto bits = static_cast<std::make_unsigned_t<T>>(value);
    for (std::size_t byte = sizeof(T); byte-- > 0;) {
      bytes_.push_back(static_cast<char>((std::uint64_t{bits} >> (8U * byte)) & 0xffU));
    }
    return *this;
  }
  LeafBytes& put(double value) { return put(std::bit_cast<std::uint64_t>(value)); }
  LeafBytes& put(base::UtcMicros at) { return put(at.value); }
  LeafBytes& put(std::string_view text) {
    put(static_cast<std::uint32_t>(text.size()));
    return put_raw(text);
  }
  // Without a length, where the format fixes it.
  LeafBytes& put_raw(std::string_view bytes) {
    bytes_.append(bytes);
    return *this;
  }

  [[nodiscard]] std::string take() { return std::move(bytes_); }

 private:
  static constexpr std::size_t kTypicalBytes = 96;
  std::string bytes_;
};

// Records that are lost for ever, as they were noted.
struct LoggedGap {
  std::string box_id;
  std::uint32_t boot = 0;
  std::int64_t first_sequence = 0;
  std::int64_t last_sequence = 0;
  std::uint8_t reason = 0;  // 1 overflow, 2 corrupt, 3 missing
  base::UtcMicros noted_at;
  bool operator==(const LoggedGap&) const = default;
};

[[nodiscard]] std::string leaf_from_exchange(std::string_view box_id, std::uint32_t boot,
                                             const base::ClockExchange& exchange);
// The record as it is stored: raw count 0 where a channel is not fitted.
[[nodiscard]] std::string leaf_from_record(std::string_view box_id, const base::Record& record);
[[nodiscard]] std::string leaf_from_gap(const LoggedGap& gap);

struct LoggedRecord {
  std::string box_id;
  base::Record record;
};
// The inverse of leaf_from_record; refuses bytes that are not exactly such a leaf.
[[nodiscard]] base::Result<LoggedRecord, Fault> record_from_leaf(std::string_view leaf);

}  // namespace analysis::evidence
