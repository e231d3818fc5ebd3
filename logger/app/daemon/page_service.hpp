// The page of a job while the daemon runs: who may ask (JOBDIR/access), what is shown, the server.
// Its threads are its own; the daemon is never waited for and never waits. Real time throughout:
// under simulated time the page shows the moment of the last commit and is served meanwhile.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "logger/app/commands/job_folder.hpp"
#include "logger/app/daemon/service/daemon_log.hpp"

namespace logger::app {

class PageService {
 public:
  // REQUIRES: the job has a page. What is needed of `opened` is copied. `say`: one line for the
  // log; called on any thread.
  using Say = std::function<void(const std::string& line, LogLevel level)>;
  PageService(const OpenedJob& opened, Say say);
  ~PageService();  // stop()
  PageService(const PageService&) = delete;
  PageService& operator=(const PageService&) = delete;

  // Listens, or says in one line why not: invalid_input (address, TLS files), unavailable (the port
  // is taken), unsupported (built without TLS). Where the users can't be read the page is served,
  // nobody gets in, and the log says so. Once.
  [[nodiscard]] store::Result<void> start();
  // Closes every connection. No effect when it is not running.
  void stop();
  // The daemon wrote something. Waits for nobody; also looks whether the users can be read.
  void committed();

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace logger::app
