// plan: what to order, how the rows lie, how to stack, from job.json alone.
#include <ostream>

#include "analysis/plan/sheet/plan_drawing.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/job/job_file.hpp"
#include "logger/app/plan/plan_report.hpp"

namespace logger::app {
namespace {

store::Result<void> write_drawings(const PlanReport& report, const PlanOptions& options,
                                   const Console& console) {
  std::error_code fault;
  std::filesystem::create_directories(options.drawings, fault);
  for (const PlannedRoom& planned : report.rooms) {
    const auto drawn = analysis::plan::plan_svg(planned.plan, options.imperial);
    if (!drawn) {
      return store::failure(store::ErrorCode::io,
                            std::string(analysis::drawing::text_of(drawn.error())));
    }
    const path file = options.drawings / (planned.room->id + "-rows.svg");
    if (const auto written = write_file(file, drawn.value(), 0644); !written) {
      return written;
    }
    console.err << file.string() << '\n';
  }
  return {};
}

}  // namespace

int plan(const PlanOptions& options, const Console& console) {
  const JobFolder folder{options.job_dir};
  const auto text = read_file(folder.job_file());
  if (!text) {
    return report(console, text.error());
  }
  const JobReading reading = job_from_text(text.value(), folder.job_file().string());
  for (const JobFinding& finding : reading.errors) {
    console.err << text_of(finding) << '\n';
  }
  if (!reading.job) {
    return kExitInput;
  }
  const auto made = plan_report_from(
      *reading.job, {options.room, analysis::base::Celsius{options.cartons_celsius},
                     options.imperial && !options.json});
  if (!made) {
    return report(console, made.error());
  }
  if (!options.drawings.empty()) {
    if (const auto written = write_drawings(made.value(), options, console); !written) {
      return report(console, written.error());
    }
  }
  console.out << (options.json ? json_from_plan(made.value())
                               : text_from_plan(made.value(), options.imperial));
  return kExitDone;
}

}  // namespace logger::app
