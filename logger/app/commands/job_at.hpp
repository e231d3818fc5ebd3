// A job as it was at the moment that --at names.
#pragma once

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

struct JobAt {
  OpenedJob opened;                             // to read
  std::optional<analysis::base::UtcMicros> at;  // nullopt = now
};

// `at` as it was typed. Errors of moment_from_option and open_job.
[[nodiscard]] inline store::Result<JobAt> job_at(const path& job_dir, const std::string& at) {
  const auto moment = moment_from_option("--at", at);
  if (!moment) {
    return store::Failure{moment.error()};
  }
  auto opened = open_job(job_dir, false);
  if (!opened) {
    return store::Failure{opened.error()};
  }
  return JobAt{std::move(opened).value(), moment.value()};
}

}  // namespace logger::app
