// The daemon's log: one line an occurrence. To the journal of a service manager its level goes in
// front (sd-daemon(3): "<3>" on standard error) and the time is the journal's; elsewhere the line
// begins with the time. One thread: the event loop's.
#pragma once

#include <iosfwd>
#include <string>

#include "analysis/base/time.hpp"
#include "logger/app/daemon/service/service_manager.hpp"

namespace logger::app {

// Values are those of syslog (RFC 5424, section 6.2.1).
enum class LogLevel { error = 3, warning = 4, notice = 5, info = 6 };

class DaemonLog {
 public:
  // `journal` outlives this; it is used where `to_journal`, `plain` otherwise.
  DaemonLog(std::ostream& plain, std::ostream& journal, bool to_journal);

  void write(LogLevel level, analysis::base::UtcMicros at, const std::string& text);

 private:
  std::ostream& stream_;
  bool to_journal_;
};

// Standard error is the journal's stream. Source: systemd.exec(5), $JOURNAL_STREAM.
[[nodiscard]] bool logs_to_journal(const ServiceEnvironment& environment);

}  // namespace logger::app
