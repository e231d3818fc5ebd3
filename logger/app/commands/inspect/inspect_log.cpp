#include "logger/app/commands/inspect/inspect_log.hpp"

#include <ostream>

#include "logger/app/checkpoints/checkpoint_summary.hpp"
#include "logger/app/checkpoints/log_inspection.hpp"
#include "logger/app/commands/exit_status.hpp"

namespace logger::app {

int inspect_evidence(const OpenedJob& opened, const Console& console) {
  const auto kept = kept_checkpoints(opened.folder, opened.job.checkpoints);
  const auto summary = checkpoint_summary(opened);
  if (!kept || !summary) {
    return report(console, !kept ? kept.error() : summary.error());
  }
  const auto inspected = inspect_log(opened.folder, opened.simulated, kept.value());
  if (!inspected) {
    return report(console, inspected.error());
  }
  const LogInspection& log = inspected.value();
  console.out << "evidence log: " << log.head.size << " entries, "
              << (log.findings.empty() ? "sound (every row against its entry, every hash)"
                                       : "NOT WHAT WAS LOGGED")
              << "; " << log.proved_entries << " of them below a checkpoint\n";
  for (const std::string& finding : log.findings) {
    console.out << "  WRONG: " << finding << '\n';
  }
  for (const std::string& remark : log.remarks) {
    console.out << "  worth a look: " << remark << '\n';
  }
  for (const std::string& line : lines_from(summary.value())) {
    console.out << "  " << line << '\n';
  }
  return log.findings.empty() ? kExitDone : kExitNot;
}

}  // namespace logger::app
