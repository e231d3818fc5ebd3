// The page of a job while the daemon runs: who may ask (JOBDIR/access), what is shown, the server.
// Its threads are its own; the daemon is never waited for and never waits. Real time throughout:
// under simulated time the page shows the moment of the last commit and is served meanwhile.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

class PageService {
 public:
  // REQUIRES: the job has a page. What is needed of `opened` is copied. `say`: one line for the
  // log, with whether it is a warning; called on any thread.
  using Say = std::function<void(const std::string& line, bool warning)>;
  PageService(const OpenedJob& opened, Say say);
  ~PageService();  // stop()
  PageService(const PageService&) = delete;
  PageService& operator=(const PageService&) = delete;

  // Listens, or says in one line why not: invalid_input (address, TLS files), unavailable (the port
  // is taken), unsupported (built without TLS), corrupt (JOBDIR/access can't be read). Once.
  [[nodiscard]] store::Result<void> start();
  // Closes every connection. No effect when it is not running.
  void stop();
  // The daemon wrote something. Never blocks.
  void committed();

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace logger::app
