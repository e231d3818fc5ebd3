// Whether the page of a job could be served, and whoever may see it let in.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "logger/app/commands/job_folder.hpp"
#include "logger/web/access/book/book_file.hpp"

namespace logger::app {

// Why not: one line each, for `check` and `inspect`; nothing for a job without a page. Takes no
// port and makes no file.
[[nodiscard]] std::vector<std::string> page_faults(const OpenedJob& opened);

// Says once when the files of JOBDIR/access can't be read any more, and once when they can again.
// One thread.
class AccessWatch {
 public:
  using Say = std::function<void(const std::string& line, bool is_fault)>;
  AccessWatch(const JobFolder& folder, Say say) : files_(folder.access()), say_(std::move(say)) {}
  // Cheap while nothing changed.
  void look();

 private:
  web::AccessFiles files_;
  Say say_;
  std::string said_;
};

}  // namespace logger::app
