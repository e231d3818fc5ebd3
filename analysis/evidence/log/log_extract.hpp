// The lines of a log extract, from which a verifier rebuilds the tree of an evidence log beside the
// readings of a certificate. Each line stands for the next entries of the log. Format:
// docs/evidence-log.md. Pure; any thread.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>

#include "analysis/base/result.hpp"
#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/fault.hpp"
#include "analysis/evidence/log/leaf_encoding.hpp"

namespace analysis::evidence {

// `count` entries: the records of one boot with these sequences, whose leaves are made from the
// readings.
struct ExtractRun {
  std::string box_id;
  std::uint32_t boot = 0;
  std::int64_t first_sequence = 0;
  std::uint64_t count = 1;
  bool operator==(const ExtractRun&) const = default;
};
// One entry, a record, by the bytes of its leaf.
struct ExtractRecord {
  std::string leaf;
  bool operator==(const ExtractRecord&) const = default;
};
// One entry, a clock exchange.
struct ExtractExchange {
  std::string box_id;
  std::uint32_t boot = 0;
  base::ClockExchange exchange;
  bool operator==(const ExtractExchange&) const = default;
};
// 2^level entries, from a multiple of that number on, by the root over them.
struct ExtractHash {
  unsigned level = 0;
  Sha256 hash;
  bool operator==(const ExtractHash&) const = default;
};
using ExtractLine =
    std::variant<ExtractRun, ExtractRecord, ExtractExchange, LoggedGap, ExtractHash>;

inline constexpr std::uint64_t kLargestLogSize = std::uint64_t{1} << 53U;

// Without a line end. REQUIRES: box ids without spaces.
[[nodiscard]] std::string text_from(const ExtractLine& line);
// Accepts exactly what text_from gives; the fault does not name the line's number.
[[nodiscard]] base::Result<ExtractLine, Fault> extract_line_from(std::string_view text);

// The first line: "dwellog-log-1 " and the number of entries.
[[nodiscard]] std::string extract_header(std::uint64_t size);
[[nodiscard]] base::Result<std::uint64_t, Fault> extract_size_from(std::string_view text);

// How many entries the line stands for.
[[nodiscard]] std::uint64_t entries_of(const ExtractLine& line);

}  // namespace analysis::evidence
