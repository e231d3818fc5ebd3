// A job as it is rehearsed: the same rooms, limits and alert settings, its boxes those of the
// simulator, every recipient one that takes all and passes nothing on. Pure.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "logger/store/error.hpp"

namespace logger::app {

struct RehearsalJob {
  std::string text;                   // job.json
  std::vector<std::string> boxes;     // for the simulator: UNIT:SERIAL:PORT
  std::vector<std::string> left_out;  // what is not rehearsed, a sentence each
};

// `job_text` is a job.json that was read without an error; `port` the path of the first simulated
// line, further ones have .2, .3 behind it. unsupported when no channel is left to simulate.
[[nodiscard]] store::Result<RehearsalJob> rehearsal_job_from(std::string_view job_text,
                                                             const std::string& port);

}  // namespace logger::app
