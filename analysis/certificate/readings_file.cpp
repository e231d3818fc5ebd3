#include "analysis/certificate/readings_file.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <concepts>
#include <cstdint>
#include <optional>

namespace analysis::certificate {
namespace {

using base::ChannelStatus;
using base::Failure;
using base::kMaxChannels;
using base::Result;

constexpr std::size_t kFields = 8 + kMaxChannels;
constexpr std::size_t kFirstRawField = 8;
constexpr unsigned kHighestStatus = static_cast<unsigned>(ChannelStatus::fault);
constexpr base::UtcMicros kLastUtc{253'402'300'799'999'999};  // end of the year 9999

bool is_plain(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
         c == '_' || c == '.';
}

void append_number(std::string& line, std::integral auto value) {
  std::array<char, 24> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value);
  line.append(digits.data(), end.ptr);
}

void append_hex(std::string& line, std::uint32_t value, int width) {
  static constexpr std::string_view kDigits = "0123456789abcdef";
  for (int shift = 4 * (width - 1); shift >= 0; shift -= 4) {
    line += kDigits[(value >> static_cast<unsigned>(shift)) & 15U];
  }
}

std::int64_t whole_milliseconds_above(base::Micros error) { return (error.count() + 999) / 1000; }

std::uint32_t packed_statuses(const base::Record& record) {
  std::uint32_t packed = 0;
  for (std::size_t i = 0; i < kMaxChannels; ++i) {
    packed |= static_cast<std::uint32_t>(record.statuses[i]) << (4 * i);
  }
  return packed;
}

Failure<Fault> bad_field(std::string_view name, std::string_view value, std::string_view expected) {
  return Failure{Fault{std::string(name) + " is \"" + std::string(value) + "\", expected " +
                       std::string(expected)}};
}

// The whole field as a number in its shortest spelling: no sign but '-', no leading zero.
template <std::integral T>
std::optional<T> number_from(std::string_view field) {
  T value{};
  const auto end = std::from_chars(field.data(), field.data() + field.size(), value);
  const std::string_view digits = field.starts_with('-') ? field.substr(1) : field;
  const bool spelled = !digits.empty() && (digits[0] != '0' || field == "0");
  if (!spelled || end.ec != std::errc{} || end.ptr != field.data() + field.size()) {
    return std::nullopt;
  }
  return value;
}

std::optional<std::uint32_t> hex_from(std::string_view field, std::size_t width) {
  const bool lower = std::ranges::all_of(
      field, [](char c) { return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f'); });
  std::uint32_t value = 0;
  if (field.size() != width || !lower) {
    return std::nullopt;
  }
  std::from_chars(field.data(), field.data() + field.size(), value, 16);
  return value;
}

using Fields = std::array<std::string_view, kFields>;

std::optional<Fields> fields_from(std::string_view line) {
  Fields fields;
  for (std::size_t i = 0; i < kFields; ++i) {
    const std::size_t comma = line.find(',');
    if ((comma == std::string_view::npos) != (i + 1 == kFields)) {
      return std::nullopt;
    }
    fields[i] = line.substr(0, comma);
    line.remove_prefix(comma == std::string_view::npos ? line.size() : comma + 1);
  }
  return fields;
}

Result<void, Fault> take_identity(const Fields& fields, Reading& reading) {
  const auto boot = number_from<std::uint32_t>(fields[1]);
  if (!boot) {
    return bad_field("boot", fields[1], "a whole number");
  }
  const auto sequence = number_from<std::int64_t>(fields[2]);
  if (!sequence || *sequence < 0) {
    return bad_field("sequence", fields[2], "a whole number, not negative");
  }
  const auto ticks_ms = number_from<std::int64_t>(fields[3]);
  if (!ticks_ms || *ticks_ms < 0) {
    return bad_field("ticks_ms", fields[3], "whole milliseconds, not negative");
  }
  reading.box_id = fields[0];
  reading.record.id = {*boot, *sequence};
  reading.record.ticks_ms = *ticks_ms;
  return {};
}

Result<void, Fault> take_time(const Fields& fields, Reading& reading) {
  constexpr std::int64_t kLargestErrorMs = INT64_MAX / 1000;
  const auto at = base::utc_from_rfc3339(fields[4]);
  if (!at || base::rfc3339_from_utc(*at) != fields[4]) {
    return bad_field("utc", fields[4], "UTC as 2026-03-01T07:00:00Z");
  }
  const auto error_ms = number_from<std::int64_t>(fields[5]);
  if (!error_ms || *error_ms < 0 || *error_ms > kLargestErrorMs) {
    return bad_field("utc_error_ms", fields[5], "whole milliseconds, not negative");
  }
  reading.dated = {*at, base::Micros{*error_ms * 1000}};
  return {};
}

Result<void, Fault> take_channels(const Fields& fields, base::Record& record) {
  const auto flags = hex_from(fields[6], 4);
  if (!flags) {
    return bad_field("flags_hex", fields[6], "4 lower-case hex digits");
  }
  record.flags = static_cast<std::uint16_t>(*flags);
  const auto statuses = hex_from(fields[7], kMaxChannels);
  if (!statuses) {
    return bad_field("statuses_hex", fields[7], "8 lower-case hex digits");
  }
  for (std::size_t i = 0; i < kMaxChannels; ++i) {
    const unsigned status = (*statuses >> (4 * i)) & 15U;
    const std::string_view field = fields[kFirstRawField + i];
    if (status > kHighestStatus) {
      return bad_field("statuses_hex", fields[7], "digits 0 to 7");
    }
    record.statuses[i] = static_cast<ChannelStatus>(status);
    if (record.statuses[i] != ChannelStatus::ok) {
      if (!field.empty()) {
        return bad_field("raw_" + std::to_string(i), field, "nothing, as its status is not ok");
      }
      continue;
    }
    const auto raw = number_from<std::int32_t>(field);
    if (!raw) {
      return bad_field("raw_" + std::to_string(i), field, "a whole number");
    }
    record.raw_counts[i] = *raw;
  }
  return {};
}

Result<void, Fault> check_for_file(const Reading& reading) {
  const std::string& box = reading.box_id;
  if (!is_plain_name(box)) {
    return bad_field("box_id", box, "letters, digits, '-', '_' and '.'");
  }
  if (reading.record.ticks_ms < 0 || reading.record.id.sequence < 0 ||
      reading.dated.error.count() < 0) {
    return Failure{Fault{"box " + box + ": ticks, sequence or time error is negative"}};
  }
  if (reading.dated.at.value < 0 || reading.dated.at > kLastUtc) {
    return bad_field("utc", base::rfc3339_from_utc(reading.dated.at), "a year of 1970 to 9999");
  }
  for (const ChannelStatus status : reading.record.statuses) {
    if (static_cast<unsigned>(status) > kHighestStatus) {
      return Failure{Fault{"box " + box + ": a channel status has no name"}};
    }
  }
  return {};
}

}  // namespace

bool is_plain_name(std::string_view text) {
  return !text.empty() && std::ranges::all_of(text, is_plain);
}

base::Micros error_in_file(const Reading& reading) {
  return base::Micros{1000 * whole_milliseconds_above(reading.dated.error)};
}

Result<std::string, Fault> line_from_reading(const Reading& reading) {
  if (auto fits = check_for_file(reading); !fits) {
    return Failure{fits.error()};
  }
  const base::Record& record = reading.record;
  std::string line;
  line.reserve(160);
  line += reading.box_id;
  line += ',';
  append_number(line, record.id.boot);
  line += ',';
  append_number(line, record.id.sequence);
  line += ',';
  append_number(line, record.ticks_ms);
  line += ',';
  line += base::rfc3339_from_utc(reading.dated.at);
  line += ',';
  append_number(line, whole_milliseconds_above(reading.dated.error));
  line += ',';
  append_hex(line, record.flags, 4);
  line += ',';
  append_hex(line, packed_statuses(record), static_cast<int>(kMaxChannels));
  for (std::size_t i = 0; i < kMaxChannels; ++i) {
    line += ',';
    if (record.statuses[i] == ChannelStatus::ok) {
      append_number(line, record.raw_counts[i]);
    }
  }
  return line;
}

Result<Reading, Fault> reading_from_line(std::string_view line) {
  const auto fields = fields_from(line);
  if (!fields) {
    return Failure{Fault{"not " + std::to_string(kFields) + " fields with commas between them"}};
  }
  if (!is_plain_name((*fields)[0])) {
    return bad_field("box_id", (*fields)[0], "letters, digits, '-', '_' and '.'");
  }
  Reading reading;
  if (auto taken = take_identity(*fields, reading); !taken) {
    return Failure{taken.error()};
  }
  if (auto taken = take_time(*fields, reading); !taken) {
    return Failure{taken.error()};
  }
  if (auto taken = take_channels(*fields, reading.record); !taken) {
    return Failure{taken.error()};
  }
  if (reading.dated.at.value < 0) {
    return bad_field("utc", (*fields)[4], "a year of 1970 to 9999");
  }
  return reading;
}

}  // namespace analysis::certificate
