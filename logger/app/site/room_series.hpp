// Readings of a room as JSON, in pages.
#pragma once

#include <string>

#include "logger/app/commands/job_folder.hpp"
#include "logger/web/site/site.hpp"

namespace logger::app {

inline constexpr int kMostPoints = 10'000;

// {"room", "points": [{"at_utc", "time_error_seconds", "channel", "role", "raw_counts",
// "temperature_celsius" | "relative_humidity_percent_rh" | "voltage_volt", "quality"}],
// "next_from_utc": time or null}: by time; what was read at one moment stays together, so that a
// page may hold a few points more than its limit only where one moment has more. Records without
// a date are left out. not_found for an unknown room or channel; invalid_input for a limit outside
// 1..kMostPoints or an empty span. Cost: the records of the page and of the hours before it.
[[nodiscard]] store::Result<std::string> series_json_from(OpenedJob& opened,
                                                          const web::SeriesQuery& query);

}  // namespace logger::app
