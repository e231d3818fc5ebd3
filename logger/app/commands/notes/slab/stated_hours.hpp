// The hours that a note of a slab test states the room to have been as in use, held against the
// log. Reads only.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>

#include "logger/app/commands/job_folder.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

struct StatedHours {
  std::string line;  // what the log shows of them
  analysis::base::Micros outside{0};
  bool contradicted = false;
  std::string refusal;  // where it is contradicted: one line
};
// Of a note of rh-test or dish-test, its content filled: the hours up to its time, in the climate
// to keep (rooms[].service). An empty line for other notes. Cost: a pass over these hours.
[[nodiscard]] store::Result<StatedHours> stated_hours_from(OpenedJob& opened, const JobRoom& room,
                                                           const JobRecords& records,
                                                           const store::Note& note);

}  // namespace logger::app
