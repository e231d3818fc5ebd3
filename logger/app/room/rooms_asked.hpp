// The rooms that a command was asked for.
#pragma once

#include <string>
#include <vector>

#include "logger/app/job/job.hpp"
#include "logger/app/text/listed.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

// `room_id` empty = every room, in the order of the job file; invalid_input when the job has no
// such room. They point into `job`.
[[nodiscard]] inline store::Result<std::vector<const JobRoom*>> rooms_asked_for(
    const Job& job, const std::string& room_id) {
  std::vector<const JobRoom*> asked;
  for (const JobRoom& room : job.rooms) {
    if (room_id.empty() || room.id == room_id) {
      asked.push_back(&room);
    }
  }
  if (asked.empty() && !room_id.empty()) {
    return store::failure(
        store::ErrorCode::invalid_input,
        "room `" + room_id + "` is not in job.json; it has " + listed(job.rooms, &JobRoom::id));
  }
  return asked;
}

}  // namespace logger::app
