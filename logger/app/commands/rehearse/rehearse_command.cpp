// rehearse: the job's own rooms, limits and alert settings on a simulated site.
#include <unistd.h>

#include <functional>
#include <ostream>
#include <sstream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/notes/record_note.hpp"
#include "logger/app/commands/rehearse/rehearsal_job.hpp"
#include "logger/app/commands/rehearse/rehearsal_report.hpp"
#include "logger/app/commands/rehearse/rehearsal_run.hpp"
#include "logger/app/commands/rehearse/rehearsal_scenario.hpp"
#include "logger/app/job/job_file.hpp"

namespace logger::app {

using analysis::base::micros_from_hours;
using analysis::base::rfc3339_from_utc;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr const char* kBy = "rehearsal";
constexpr Micros kDay = micros_from_hours(24);

// job.json alone: neither store nor keys of the job are touched.
Result<std::string> job_text_of(const path& job_dir) {
  const JobFolder folder{job_dir};
  auto text = read_job_text(folder);
  if (!text) {
    return text;
  }
  const JobReading reading = job_from_text(text.value(), folder.job_file().string());
  return reading.job ? text
                     : failure(ErrorCode::invalid_input,
                               text_of(reading.errors.front()) + "; `dwellog check` lists all");
}

// A file of that name, else a built-in scenario.
Result<RehearsalScenario> scenario_of(const std::string& scenario, const path& simulator) {
  std::error_code error;
  const auto text = std::filesystem::exists(scenario, error)
                        ? read_file(scenario)
                        : built_in_scenario(simulator, scenario);
  return text ? rehearsal_scenario_from(text.value(), scenario)
              : Result<RehearsalScenario>{store::Failure{text.error()}};
}

// A folder as `dwellog new` makes it, with keys of its own.
Result<void> make_job(const path& job_dir, const std::string& job_text) {
  NewOptions options;
  options.job_dir = job_dir;
  std::ostringstream out;
  std::ostringstream err;
  if (new_job(options, {out, err}) != kExitDone) {
    return failure(ErrorCode::io, "cannot make the rehearsal's job folder: " + err.str());
  }
  return write_file(JobFolder{job_dir}.job_file(), job_text, 0600);
}

std::vector<NoteOptions> notes_of_room(const JobRoom& room, const RehearsalScenario& scenario) {
  std::vector<NoteOptions> notes;
  NoteOptions note;
  note.by = kBy;
  note.room = room.id;
  note.kind = "gate";
  note.answer = "met";
  note.at = rfc3339_from_utc(scenario.start);
  for (const auto gate : room.requirements.site_gates) {
    note.subject = name_of(gate);
    notes.push_back(note);
  }
  note.kind = "delivery";
  note.subject = note.answer = "";
  note.at = rfc3339_from_utc(scenario.start + scenario.delivery_after);
  notes.push_back(note);
  return notes;
}

std::vector<NoteOptions> notes_of_channel(const JobChannel& channel, UtcMicros start) {
  NoteOptions note;
  note.by = kBy;
  note.kind = "calibration";
  note.subject = channel.id;
  note.at = rfc3339_from_utc(start - micros_from_hours(24));
  note.due = rfc3339_from_utc(start + micros_from_hours(366 * 24));
  note.expanded_uncertainty = 0.2;
  note.reference = "assumed for a rehearsal";
  std::vector<NoteOptions> notes{note};
  note = {};
  note.by = kBy;
  note.kind = "placement";
  note.subject = channel.id;
  note.at = rfc3339_from_utc(start - micros_from_hours(24));
  notes.push_back(note);
  return notes;
}

// What people would have done and seen; without it no verdict could become ready.
Result<void> note_assumptions(const path& job_dir, const RehearsalScenario& scenario) {
  auto opened = open_job(job_dir, true);
  if (!opened) {
    return store::Failure{opened.error()};
  }
  std::vector<NoteOptions> notes;
  const auto add = [&](std::vector<NoteOptions> more) {
    notes.insert(notes.end(), more.begin(), more.end());
  };
  for (const JobRoom& room : opened.value().job.rooms) {
    add(notes_of_room(room, scenario));
  }
  for (const JobBox& box : opened.value().job.boxes) {
    for (const JobChannel& channel : box.channels) {
      add(notes_of_channel(channel, scenario.start));
    }
  }
  for (const NoteOptions& note : notes) {
    if (const auto noted = record_note(opened.value(), note); !noted) {
      return failure(noted.error().code, "assumed " + note.kind + ": " + noted.error().context);
    }
  }
  return {};
}

const std::vector<std::string>& assumptions() {
  static const std::vector<std::string> sentences{
      "Every site gate is observed as met at the start; cartons are noted when the first come.",
      "Every channel is calibrated, with a year to go, and was placed a day before.",
      "Nobody acknowledges an alert."};
  return sentences;
}

// A line of a terminal that tells how far it is; nothing where the errors go elsewhere.
class Progress {
 public:
  Progress(const RehearsalScenario& scenario, std::ostream& err)
      : scenario_(scenario), err_(err), shown_(::isatty(STDERR_FILENO) == 1) {}
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;
  ~Progress() {
    if (shown_) {
      err_ << "\r\x1b[K" << std::flush;
    }
  }
  void show(const path& job_dir) const {
    const auto opened = shown_ ? open_job(job_dir, false) : failure(ErrorCode::unsupported, "");
    if (opened && opened.value().now >= scenario_.start) {
      const auto day = [](Micros micros) { return micros.count() / kDay.count(); };
      err_ << "\rrehearsing, simulated day " << day(opened.value().now - scenario_.start) + 1
           << " of " << day(scenario_.length - Micros{1}) + 1 << std::flush;
    }
  }

 private:
  RehearsalScenario scenario_;
  std::ostream& err_;
  bool shown_;
};

Result<RehearsalReport> rehearse_in(const path& scratch, const RehearseOptions& options,
                                    const Console& console) {
  const auto simulator = find_simulator();
  const auto job_text = job_text_of(options.job_dir);
  if (!simulator || !job_text) {
    return store::Failure{!job_text ? job_text.error() : simulator.error()};
  }
  const auto scenario = scenario_of(options.scenario, simulator.value());
  if (!scenario) {
    return store::Failure{scenario.error()};
  }
  const auto job = rehearsal_job_from(job_text.value(), (scratch / "line").string());
  if (!job) {
    return store::Failure{job.error()};
  }
  const path job_dir = scratch / "job";
  const Progress progress(scenario.value(), console.err);
  for (const auto& step :
       {std::function<Result<void>()>([&] { return make_job(job_dir, job.value().text); }),
        std::function<Result<void>()>([&] { return note_assumptions(job_dir, scenario.value()); }),
        std::function<Result<void>()>([&] {
          return run_rehearsal({simulator.value(), options.scenario, job.value().boxes, scratch,
                                job_dir, [&] { progress.show(job_dir); }});
        })}) {
    if (const auto done = step(); !done) {
      return store::Failure{done.error()};
    }
  }
  auto opened = open_job(job_dir, false);
  if (!opened) {
    return store::Failure{opened.error()};
  }
  RehearsalReport report;
  report.scenario = options.scenario;
  report.from = scenario.value().start;
  report.assumed = assumptions();
  report.left_out = job.value().left_out;
  const auto read = read_rehearsal(opened.value(), report);
  return read ? Result<RehearsalReport>{std::move(report)} : store::Failure{read.error()};
}

}  // namespace

int rehearse(const RehearseOptions& options, const Console& console) {
  const HeldSignals held;
  const auto scratch = ScratchFolder::make();
  if (!scratch) {
    return report(console, scratch.error());
  }
  const auto roomy = scratch.value().check_space();
  const auto rehearsed = roomy ? rehearse_in(scratch.value().path(), options, console)
                               : Result<RehearsalReport>{store::Failure{roomy.error()}};
  if (!rehearsed) {
    // A disk that has run full since then shows in many ways.
    const auto still_roomy = scratch.value().check_space();
    return report(console, still_roomy ? rehearsed.error() : still_roomy.error());
  }
  console.out << (options.json ? json_from_rehearsal(rehearsed.value())
                               : text_from_rehearsal(rehearsed.value()));
  return kExitDone;
}

}  // namespace logger::app
