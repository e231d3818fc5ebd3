// The readings beside a certificate: a text of one header line and one line a record, which is a
// leaf of the tree whose root is signed. Format: docs/certificate-format.md. Pure; any thread.
#pragma once

#include <compare>
#include <string>
#include <string_view>
#include <tuple>

#include "analysis/base/record.hpp"
#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/evidence/fault.hpp"

namespace analysis::certificate {

using evidence::Fault;

// First line, without its line end.
inline constexpr std::string_view kReadingsHeader =
    "box_id,boot,sequence,ticks_ms,utc,utc_error_ms,flags_hex,statuses_hex,"
    "raw_0,raw_1,raw_2,raw_3,raw_4,raw_5,raw_6,raw_7";

// One record as the file holds it. Raw counts of channels whose status is not ok are not kept; the
// error is whole milliseconds, rounded up.
struct Reading {
  std::string box_id;
  base::Record record;
  base::DatedTime dated;
};

// Order of the file; equal keys are not allowed in it.
inline auto order_key(const Reading& r) {
  return std::tuple<const base::UtcMicros&, const std::string&, const base::RecordId&>(
      r.dated.at, r.box_id, r.record.id);
}

// Letters, digits, '-', '_' and '.', at least one: what names a box or numbers a certificate.
[[nodiscard]] bool is_plain_name(std::string_view text);

// The reading's time error as the file holds it.
[[nodiscard]] base::Micros error_in_file(const Reading& reading);

// Without a line end. Refuses a box id that is no plain name; negative ticks, sequence or error; a
// year outside 1970..9999.
[[nodiscard]] base::Result<std::string, Fault> line_from_reading(const Reading& reading);

// Accepts exactly what line_from_reading gives; the fault names field and value, not the line
// number, which the caller knows.
[[nodiscard]] base::Result<Reading, Fault> reading_from_line(std::string_view line);

}  // namespace analysis::certificate
