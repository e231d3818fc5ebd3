// Whether the page of a job could be served from here. Looked at by one function, judged by another
// that is pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "logger/app/commands/inspect/surroundings.hpp"

namespace logger::app {

struct PageState {
  std::string address;
  int port = 0;
  bool held_by_logger = false;      // `dwellog run` works on the job, so that it was not tried
  int bind_errno = 0;               // 0 = the port could be taken
  bool has_users = false;           // JOBDIR/access was made
  std::vector<std::string> faults;  // of its users and certificate
};
// nullopt for a job without a page. Takes the port for a moment unless the logger runs.
[[nodiscard]] std::optional<PageState> read_page(const OpenedJob& opened);
[[nodiscard]] InspectLine judge_page(const PageState& page, const std::string& job_dir);

}  // namespace logger::app
