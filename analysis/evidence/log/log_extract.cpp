#include "analysis/evidence/log/log_extract.hpp"

#include <charconv>
#include <optional>
#include <vector>

namespace analysis::evidence {
namespace {

using base::Failure;
using base::Result;

constexpr std::string_view kExtractFormat = "dwellog-log-1";
constexpr unsigned kHighestLevel = 52;  // more entries than that no log has
constexpr std::size_t kMostFields = 7;
constexpr std::size_t kQuotedBytes = 60;

template <class... Parts>
std::string words(const Parts&... parts) {
  std::string line;
  const auto add = [&line](const auto& part) {
    line += line.empty() ? "" : " ";
    if constexpr (std::is_arithmetic_v<std::decay_t<decltype(part)>>) {
      line += std::to_string(part);
    } else {
      line += part;
    }
  };
  (add(parts), ...);
  return line;
}

std::string hex_from_text(std::string_view bytes) {
  return hex_from_bytes({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
}

std::optional<std::string> text_from_hex(std::string_view hex) {
  std::string bytes(hex.size() / 2, '\0');
  const bool fits =
      bytes_from_hex(hex, {reinterpret_cast<std::uint8_t*>(bytes.data()), bytes.size()});
  return fits ? std::optional(bytes) : std::nullopt;
}

struct LineText {
  std::string operator()(const ExtractRun& run) const {
    return words("records", run.box_id, run.boot, run.first_sequence, run.count);
  }
  std::string operator()(const ExtractRecord& record) const {
    return words("record", hex_from_text(record.leaf));
  }
  std::string operator()(const ExtractExchange& at) const {
    return words("exchange", at.box_id, at.boot, at.exchange.ticks_ms, at.exchange.utc.value,
                 std::int64_t{at.exchange.error.count()});
  }
  std::string operator()(const LoggedGap& gap) const {
    return words("gap", gap.box_id, gap.boot, gap.first_sequence, gap.last_sequence,
                 unsigned{gap.reason}, gap.noted_at.value);
  }
  std::string operator()(const ExtractHash& hash) const {
    return words("hash", hash.level, hex_from_digest(hash.hash));
  }
};

using Fields = std::vector<std::string_view>;

Fields fields_of(std::string_view text) {
  Fields fields;
  while (fields.size() < kMostFields) {
    const std::size_t space = text.find(' ');
    fields.push_back(text.substr(0, space));
    if (space == std::string_view::npos) {
      break;
    }
    text.remove_prefix(space + 1);
  }
  return fields;
}

// The number that stands first; one that is spelled otherwise shows when the line is written anew.
template <class T>
T number(std::string_view field) {
  T value{};
  std::from_chars(field.data(), field.data() + field.size(), value);
  return value;
}

// What the line seems to say; nullopt when it is none of the kinds.
std::optional<ExtractLine> read_loosely(const Fields& f) {
  if (f[0] == "records" && f.size() == 5) {
    return ExtractRun{std::string(f[1]), number<std::uint32_t>(f[2]), number<std::int64_t>(f[3]),
                      number<std::uint64_t>(f[4])};
  }
  if (f[0] == "record" && f.size() == 2) {
    return ExtractRecord{text_from_hex(f[1]).value_or("")};
  }
  if (f[0] == "exchange" && f.size() == 6) {
    return ExtractExchange{std::string(f[1]),
                           number<std::uint32_t>(f[2]),
                           {number<std::int64_t>(f[3]),
                            {number<std::int64_t>(f[4])},
                            base::Micros{number<std::int64_t>(f[5])}}};
  }
  if (f[0] == "gap" && f.size() == kMostFields) {
    return LoggedGap{std::string(f[1]),          number<std::uint32_t>(f[2]),
                     number<std::int64_t>(f[3]), number<std::int64_t>(f[4]),
                     number<std::uint8_t>(f[5]), {number<std::int64_t>(f[6])}};
  }
  if (f[0] == "hash" && f.size() == 3) {
    return ExtractHash{number<unsigned>(f[1]), digest_from_hex(f[2]).value_or(Sha256{})};
  }
  return std::nullopt;
}

bool is_possible(const ExtractLine& line) {
  if (const auto* run = std::get_if<ExtractRun>(&line)) {
    return !run->box_id.empty() && run->first_sequence >= 0 && run->count >= 1 &&
           run->count <= kLargestLogSize &&
           run->first_sequence <= INT64_MAX - static_cast<std::int64_t>(run->count);
  }
  if (const auto* gap = std::get_if<LoggedGap>(&line)) {
    return !gap->box_id.empty() && gap->first_sequence >= 0 &&
           gap->last_sequence >= gap->first_sequence;
  }
  if (const auto* at = std::get_if<ExtractExchange>(&line)) {
    return !at->box_id.empty();
  }
  const auto* hash = std::get_if<ExtractHash>(&line);
  return hash == nullptr || hash->level <= kHighestLevel;
}

std::string quoted(std::string_view text) {
  const bool cut = text.size() > kQuotedBytes;
  return "\"" + std::string(text.substr(0, kQuotedBytes)) + (cut ? "...\"" : "\"");
}

}  // namespace

std::string text_from(const ExtractLine& line) { return std::visit(LineText{}, line); }

Result<ExtractLine, Fault> extract_line_from(std::string_view text) {
  const auto line = read_loosely(fields_of(text));
  if (!line || !is_possible(*line) || text_from(*line) != text) {
    return Failure{Fault{quoted(text) +
                         " is no line of a log file; expected \"records BOX BOOT SEQUENCE "
                         "COUNT\", \"record HEX\", \"exchange BOX BOOT TICKS UTC ERROR\", \"gap "
                         "BOX BOOT FIRST LAST REASON UTC\" or \"hash LEVEL HEX\""}};
  }
  return *line;
}

std::string extract_header(std::uint64_t size) { return words(kExtractFormat, size); }

Result<std::uint64_t, Fault> extract_size_from(std::string_view text) {
  const Fields fields = fields_of(text);
  const std::uint64_t size = fields.size() == 2 ? number<std::uint64_t>(fields[1]) : 0;
  if (extract_header(size) != text || size > kLargestLogSize) {
    return Failure{Fault{quoted(text) + ", expected \"" + std::string(kExtractFormat) +
                         "\" and the number of entries"}};
  }
  return size;
}

std::uint64_t entries_of(const ExtractLine& line) {
  if (const auto* run = std::get_if<ExtractRun>(&line)) {
    return run->count;
  }
  const auto* hash = std::get_if<ExtractHash>(&line);
  return hash == nullptr ? 1 : std::uint64_t{1} << hash->level;
}

}  // namespace analysis::evidence
