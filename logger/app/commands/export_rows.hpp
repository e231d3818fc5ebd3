// Readings as CSV for people and their spreadsheets: RFC 4180, RFC 3339 UTC, unit in each header,
// raw and calibrated, quality. The readings beside a certificate are another file
// (analysis/certificate/readings_file.hpp).
#pragma once

#include <iosfwd>
#include <optional>
#include <string>
#include <string_view>

#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

struct ExportQuery {
  const JobBox* box = nullptr;
  std::optional<UtcMicros> from;  // both included
  std::optional<UtcMicros> to;
  char separator = ',';
  char decimal = '.';
};

// Gives the count of records written. Undated records are left out: see `status`.
[[nodiscard]] store::Result<std::int64_t> write_export(OpenedJob& opened, const ExportQuery& query,
                                                       std::ostream& out);

[[nodiscard]] std::string sha256_hex_of(std::string_view bytes);

}  // namespace logger::app
