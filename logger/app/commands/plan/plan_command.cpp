// plan: what to order, how the rows lie, how to stack, from job.json alone.
#include <algorithm>
#include <cmath>
#include <ostream>
#include <vector>

#include "analysis/plan/sheet/plan_drawing.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/job/job_file.hpp"
#include "logger/app/plan/plan_pack.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {
namespace {

struct RoomDrawing {
  path file;
  analysis::base::Result<std::string, analysis::drawing::DrawError> (*draw)(const PlannedRoom&,
                                                                            bool imperial);
};

// The rows, and the room before the floor.
std::vector<RoomDrawing> drawings_of(const PlannedRoom& planned, const PlanOptions& options) {
  return {{options.drawings / (planned.room->id + "-rows.svg"),
           [](const PlannedRoom& room, bool imperial) {
             return analysis::plan::plan_svg(room.plan, room.room->plan->request, imperial);
           }},
          {options.drawings / (planned.room->id + "-site.svg"),
           [](const PlannedRoom& room, bool imperial) {
             return analysis::plan::site_svg(site_sheet_of(room, imperial));
           }}};
}

// The first file to be written that is there already; empty = none.
path file_in_the_way(const PlanReport& report, const PlanOptions& options) {
  std::vector<path> files;
  if (!options.pdf.empty()) {
    files.push_back(options.pdf);
  }
  if (!options.drawings.empty()) {
    for (const PlannedRoom& planned : report.rooms) {
      for (const RoomDrawing& drawing : drawings_of(planned, options)) {
        files.push_back(drawing.file);
      }
    }
  }
  std::error_code fault;
  const auto there = std::find_if(files.begin(), files.end(), [&](const path& file) {
    return std::filesystem::exists(file, fault);
  });
  return there == files.end() ? path() : *there;
}

store::Result<void> write_drawings(const PlanReport& report, const PlanOptions& options,
                                   const Console& console) {
  std::error_code fault;
  std::filesystem::create_directories(options.drawings, fault);
  for (const PlannedRoom& planned : report.rooms) {
    for (const RoomDrawing& drawing : drawings_of(planned, options)) {
      const auto drawn = drawing.draw(planned, options.imperial);
      if (!drawn) {
        return store::failure(store::ErrorCode::io,
                              std::string(analysis::drawing::text_of(drawn.error())));
      }
      if (const auto written = write_file(drawing.file, drawn.value(), 0644); !written) {
        return written;
      }
      console.err << drawing.file.string() << '\n';
    }
  }
  return {};
}

// What was noted of the rooms' gates; nothing where the job has no store yet.
store::Result<NotedGates> noted_gates_of(OpenedJob& opened) {
  NotedGates noted;
  std::error_code fault;
  if (!std::filesystem::exists(opened.folder.store_file(), fault)) {
    return noted;
  }
  if (const auto attached = attach_store(opened, false); !attached) {
    return store::Failure{attached.error()};
  }
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  for (const JobRoom& room : opened.job.rooms) {
    noted[room.id] = room_notes_from(records.value(), room).site_gates;
  }
  return noted;
}

store::Result<void> write_pack(OpenedJob& opened, const PlanReport& report,
                               const PlanOptions& options) {
  auto noted = noted_gates_of(opened);
  if (!noted) {
    return store::Failure{noted.error()};
  }
  const auto pack = job_pack_from({opened.job, report, std::move(noted).value(),
                                   opened.job_sha256_hex, opened.simulated, options.imperial});
  const auto bytes = analysis::plan::draw_job_pack_pdf(pack, {options.letter, options.imperial});
  if (!bytes) {
    return store::failure(
        bytes.error() == analysis::drawing::DrawError::too_tall ? store::ErrorCode::invalid_input
                                                                : store::ErrorCode::io,
        "the job pack can't be drawn: " + std::string(analysis::drawing::text_of(bytes.error())));
  }
  return write_file(options.pdf, bytes.value(), 0644);
}

}  // namespace

int plan(const PlanOptions& options, const Console& console) {
  if (!std::isfinite(options.cartons_celsius)) {
    return refuse(console, "--carton-celsius is no temperature; expected -40 to 40 °C");
  }
  OpenedJob opened;
  opened.folder.root = options.job_dir;
  const auto text = read_job_text(opened.folder);
  if (!text) {
    return report(console, text.error());
  }
  JobReading reading = job_from_text(text.value(), opened.folder.job_file().string());
  for (const JobFinding& finding : reading.errors) {
    console.err << text_of(finding) << '\n';
  }
  std::vector<std::string> worth_a_look;
  for (const JobFinding& finding : reading.warnings) {
    if (finding.key.find(".plan.") != std::string::npos) {
      worth_a_look.push_back(text_of(finding));
    }
  }
  if (!options.json) {
    for (const std::string& line : worth_a_look) {
      console.err << "worth a look: " << line << '\n';
    }
  }
  if (!reading.job) {
    return kExitInput;
  }
  opened.job = std::move(*reading.job);
  opened.job_sha256_hex = reading.sha256_hex;
  auto made = plan_report_from(opened.job,
                               {options.room, analysis::base::Celsius{options.cartons_celsius}});
  if (!made) {
    return report(console, made.error());
  }
  made.value().worth_a_look = std::move(worth_a_look);
  if (const path there = file_in_the_way(made.value(), options); !there.empty()) {
    return refuse(console, there.string() + " is there already; nothing was written");
  }
  if (!options.drawings.empty()) {
    if (const auto written = write_drawings(made.value(), options, console); !written) {
      return report(console, written.error());
    }
  }
  if (!options.pdf.empty()) {
    if (const auto written = write_pack(opened, made.value(), options); !written) {
      return report(console, written.error());
    }
    console.err << options.pdf.string() << '\n';
  }
  console.out << (options.json ? json_from_plan(made.value())
                               : text_from_plan(made.value(), options.imperial));
  return kExitDone;
}

}  // namespace logger::app
