// outlook: when each room may be ready and what to do until then.
#include <ostream>

#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_at.hpp"
#include "logger/app/outlook/outlook_report.hpp"

namespace logger::app {

int outlook(const OutlookOptions& options, const Console& console) {
  if (options.charts.empty() && !options.svg) {
    return report(console, store::Error{store::ErrorCode::invalid_input,
                                        "--format png needs a folder: --charts DIR", 0});
  }
  auto job = job_at(options.job_dir, options.at);
  if (!job) {
    return report(console, job.error());
  }
  const auto made = outlook_report_from(job.value().opened, options.room, job.value().at);
  if (!made) {
    return report(console, made.error());
  }
  if (!options.charts.empty()) {
    const auto written =
        write_outlook_charts(made.value(), {options.charts, options.svg}, options.imperial);
    if (!written) {
      return report(console, written.error());
    }
    for (const path& file : written.value()) {
      console.err << file.string() << '\n';
    }
  }
  console.out << (options.json ? json_from_outlook(made.value())
                               : text_from_outlook(made.value(), options.imperial));
  return kExitDone;
}

}  // namespace logger::app
