// Job texts the tests start from, and what reading one found, as lines.
#pragma once

#include <catch2/catch.hpp>
#include <string>
#include <vector>

#include "logger/app/job/job_file.hpp"

namespace job_tests {

// The shortest job there is: required keys only, each on a line of its own where tests ask for
// lines.
inline const std::string kShortest = R"({
  "format": "dwellog-job/1",
  "job": {"name": "Mill Lane 4", "site_address": "Mill Lane 4", "installer": "A. Fitter"},
  "rooms": [
    {"id": "hall", "name": "Hall", "floor_area_m2": 12.5, "floor_product": "Laminate 8 mm",
     "requirements": {
       "slab": null
     }
    }
  ],
  "boxes": [
    {"id": "box-1", "serial": 77, "port": "/dev/ttyS0",
     "channels": [
       {"index": 0, "id": "t", "room": "hall", "role": "room_air_temperature"},
       {"index": 1, "id": "rh", "room": "hall", "role": "room_air_rh"},
       {"index": 2, "id": "core", "room": "hall", "role": "stack_core_temperature"}
     ]
    }
  ]
})";

// `text` with the first `from` replaced. REQUIRES: it holds `from`.
inline std::string with(std::string text, const std::string& from, const std::string& to) {
  REQUIRE(text.find(from) != std::string::npos);
  return text.replace(text.find(from), from.size(), to);
}

inline std::vector<std::string> lines_of(const std::vector<logger::app::JobFinding>& findings) {
  std::vector<std::string> lines;
  for (const logger::app::JobFinding& finding : findings) {
    lines.push_back(text_of(finding));
  }
  return lines;
}

inline std::vector<std::string> errors_of(const std::string& text) {
  const logger::app::JobReading reading = logger::app::job_from_text(text, "job.json");
  CHECK(reading.job.has_value() == reading.errors.empty());
  return lines_of(reading.errors);
}
inline std::vector<std::string> warnings_of(const std::string& text) {
  const logger::app::JobReading reading = logger::app::job_from_text(text, "job.json");
  CHECK(lines_of(reading.errors).empty());
  return lines_of(reading.warnings);
}

using Lines = std::vector<std::string>;

// One changed place of kShortest and all findings it gives.
struct Change {
  const char* from;
  const char* to;
  Lines findings;
};

inline void check_errors(const std::vector<Change>& changes) {
  for (const Change& change : changes) {
    INFO(change.from << "  ->  " << change.to);
    CHECK(errors_of(with(kShortest, change.from, change.to)) == change.findings);
  }
}

}  // namespace job_tests
