// new, check: what concerns the job folder itself.
#include <sys/stat.h>

#include <ostream>

#include "analysis/evidence/signing_key.hpp"
#include "logger/app/access/page_faults.hpp"
#include "logger/app/checkpoints/checkpoint_folder.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/keys/key_files.hpp"
#include "logger/app/job/job_file.hpp"
#include "logger/app/push/delivery_faults.hpp"

namespace logger::app {

using store::ErrorCode;
using store::Result;

namespace {

Result<void> make_keys(const JobFolder& folder) {
  const auto key = new_signing_key();
  if (!key) {
    return store::Failure{key.error()};
  }
  const auto written = write_secret_key(folder.secret_key(), key.value(), "");
  return written
             ? write_file(folder.public_key(), text_from_public_key(key.value().public_key()), 0644)
             : written;
}

bool print_findings(const JobReading& reading, const Console& console) {
  for (const JobFinding& finding : reading.errors) {
    console.err << text_of(finding) << '\n';
  }
  for (const JobFinding& finding : reading.warnings) {
    console.out << "worth a look: " << text_of(finding) << '\n';
  }
  return reading.job.has_value();
}

}  // namespace

int new_job(const NewOptions& options, const Console& console) {
  const JobFolder folder{options.job_dir};
  std::error_code error;
  if (std::filesystem::exists(folder.job_file(), error)) {
    return report(console,
                  {ErrorCode::invalid_input,
                   folder.job_file().string() + " is there already; nothing was changed", 0});
  }
  JobTemplate values;
  values.name = options.name;
  values.box_serial = options.box_serial;
  if (!options.port.empty()) {
    values.port = options.port;
  }
  const std::string text = commented_job_text(values);
  if (!print_findings(job_from_text(text, folder.job_file().string()), console)) {
    return kExitInput;
  }
  std::filesystem::create_directories(folder.root, error);
  if (error) {
    return report(console,
                  {ErrorCode::io, "cannot make " + folder.root.string() + ": " + error.message(),
                   error.value()});
  }
  for (const auto& step : {make_keys(folder), write_file(folder.job_file(), text, 0644)}) {
    if (!step) {
      return report(console, step.error());
    }
  }
  const auto store = store::open_sqlite_store(folder.store_file().string(), {.create = true});
  if (!store) {
    return report(console, store.error());
  }
  console.out << "Made the job folder " << folder.root.string() << ":\n"
              << "  job.json                edit it: site, rooms, boxes, limits\n"
              << "  certificate-key.pub     give it to whoever must be able to verify\n"
              << "  certificate-key.secret  signs certificates; keep it and a copy to yourself\n"
              << "  readings.sqlite         everything the boxes and you record\n"
              << "Then: dwellog check " << folder.root.string() << '\n';
  return kExitDone;
}

int check_job(const path& job_dir, const Console& console) {
  OpenedJob opened;
  opened.folder.root = job_dir;
  const JobFolder& folder = opened.folder;
  const auto text = read_job_text(folder);
  if (!text) {
    return report(console, text.error());
  }
  const JobReading reading = job_from_text(text.value(), folder.job_file().string());
  if (!print_findings(reading, console)) {
    return kExitInput;
  }
  opened.job = *reading.job;
  const auto key = read_public_key(folder.public_key());
  const auto secret = check_secret_key(folder);
  if (!key || !secret) {
    return report(console, !key ? key.error() : secret.error());
  }
  const auto authority = authority_certificates(folder, reading.job->checkpoints);
  if (!authority) {
    return report(console, authority.error());
  }
  if (const auto attached = attach_store(opened, false); !attached) {
    return report(console, attached.error());
  }
  std::string faults;
  for (const JobRoom& room : opened.job.rooms) {
    // A day without a time counts from its end.
    if (room.slab_poured_at && *room.slab_poured_at - std::chrono::hours(24) > opened.now) {
      faults += folder.job_file().string() + ": room " + room.id + ": slab_poured_at " +
                analysis::base::rfc3339_from_utc(*room.slab_poured_at) +
                " is in the future; expected when the slab was poured\n";
    }
  }
  for (const auto& found : {delivery_faults(opened), page_faults(opened)}) {
    for (const std::string& fault : found) {
      faults += fault + "\n";
    }
  }
  if (!faults.empty()) {
    return refuse(console, faults);
  }
  std::size_t channels = 0;
  for (const JobBox& box : reading.job->boxes) {
    channels += box.channels.size();
  }
  console.out << folder.job_file().string() << ": good: " << reading.job->rooms.size()
              << " room(s), " << reading.job->boxes.size() << " box(es), " << channels
              << " channel(s)\n";
  return kExitDone;
}

}  // namespace logger::app
