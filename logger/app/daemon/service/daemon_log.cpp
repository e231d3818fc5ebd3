#include "logger/app/daemon/service/daemon_log.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <ostream>
#include <sstream>

namespace logger::app {

DaemonLog::DaemonLog(std::ostream& plain, std::ostream& journal, bool to_journal)
    : stream_(to_journal ? journal : plain), to_journal_(to_journal) {}

void DaemonLog::write(LogLevel level, analysis::base::UtcMicros at, const std::string& text) {
  // A text of several lines would lose its level after the first.
  std::istringstream lines(text);
  std::string line;
  while (std::getline(lines, line)) {
    if (to_journal_) {
      stream_ << '<' << static_cast<int>(level) << '>' << line << '\n';
    } else {
      stream_ << analysis::base::rfc3339_from_utc(at) << ' ' << line << '\n';
    }
  }
  stream_ << std::flush;
}

bool logs_to_journal(const ServiceEnvironment& environment) {
  struct stat stream {};
  return !environment.journal_stream.empty() && ::fstat(STDERR_FILENO, &stream) == 0 &&
         environment.journal_stream ==
             std::to_string(stream.st_dev) + ":" + std::to_string(stream.st_ino);
}

}  // namespace logger::app
