#include "logger/app/commands/inspect/surroundings.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <sys/timex.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstring>

#include "logger/app/daemon/real_clock.hpp"
#include "logger/app/files/open_file.hpp"

namespace logger::app {

using store::Result;

namespace {

constexpr std::int64_t kFewRecords = 1000;   // our assumption: fewer say nothing of the growth
constexpr double kUsualBytesARecord = 53.0;  // docs/performance.md
constexpr double kSecondsAMonth = 30 * 86400.0;
constexpr Micros kOldBackup{std::int64_t{7} * 86400 * 1'000'000};  // our assumption
constexpr Micros kPoorClock{1'000'000};                            // our assumption

std::string megabytes(double bytes) {
  return std::to_string(static_cast<std::int64_t>(std::ceil(bytes / 1e6))) + " MB";
}

std::string joined(const std::vector<std::string>& names) {
  std::string text;
  for (const std::string& name : names) {
    text += (text.empty() ? "" : ", ") + name;
  }
  return text;
}

}  // namespace

ClockState read_clock(std::optional<UtcMicros> last_seen) {
  timex kernel{};
  const int state = ::adjtimex(&kernel);
  const bool synchronised = state >= 0 && state != TIME_ERROR && (kernel.status & STA_UNSYNC) == 0;
  return {utc_of_this_machine(), synchronised, Micros{kernel.maxerror}, last_seen};
}

InspectLine judge_clock(const ClockState& clock) {
  const std::string now = "clock: " + analysis::base::minute_text_from_utc(clock.now);
  if (clock.last_seen && clock.now < *clock.last_seen) {
    return {Judgement::wrong,
            now + " is before " + analysis::base::minute_text_from_utc(*clock.last_seen) +
                ", when the logger was last alive; set the clock before `dwellog run`"};
  }
  if (!clock.synchronised) {
    return {Judgement::worth_a_look,
            now +
                ", not synchronised; switch the time service on, or set the clock by hand and "
                "look after it: readings are dated by it"};
  }
  if (clock.max_error > kPoorClock) {
    return {Judgement::worth_a_look, now + ", synchronised within " +
                                         analysis::base::text_from_duration(clock.max_error) +
                                         " only; see whether the time service reaches its server"};
  }
  return {Judgement::good, now + ", synchronised"};
}

Result<DiskState> read_disk(OpenedJob& opened) {
  DiskState disk;
  std::error_code error;
  disk.free_bytes = std::filesystem::space(opened.folder.root, error).available;
  if (!error) {
    disk.store_bytes = std::filesystem::file_size(opened.folder.store_file(), error);
  }
  if (error) {
    return store::failure(store::ErrorCode::io,
                          opened.folder.root.string() + ": " + error.message(), error.value());
  }
  for (const JobBox& box : opened.job.boxes) {
    const auto boots = opened.store->boots(box.id);
    if (!boots) {
      return store::Failure{boots.error()};
    }
    for (const store::BootSpan& boot : boots.value()) {
      // An imported record's sequence is its time.
      disk.records += box.csv ? 0 : boot.last_sequence - boot.first_sequence + 1;
    }
    if (!box.csv) {
      disk.records_a_month += kSecondsAMonth / box.sample_interval_s;
    }
  }
  return disk;
}

InspectLine judge_disk(const DiskState& disk) {
  const bool measured = disk.records >= kFewRecords;
  const double bytes_a_record =
      measured ? static_cast<double>(disk.store_bytes) / static_cast<double>(disk.records)
               : kUsualBytesARecord;
  const double month = bytes_a_record * disk.records_a_month;
  const double free = static_cast<double>(disk.free_bytes);
  const std::string text =
      "disk: " + megabytes(free) + " free; a month of this job takes " + megabytes(month) + " (" +
      std::to_string(static_cast<std::int64_t>(std::ceil(bytes_a_record))) + " bytes a record, " +
      (measured ? "measured here)" : "as measured elsewhere: too few records here yet)");
  return month > free
             ? InspectLine{Judgement::wrong, text + "; make room, or move the job to a larger disk"}
             : InspectLine{Judgement::good, text};
}

std::vector<PortState> read_ports(const OpenedJob& opened) {
  std::vector<PortState> ports;
  const bool logger_runs = FolderLock::is_taken(opened.folder.run_lock());
  for (const JobBox& box : opened.job.boxes) {
    if (box.csv || !box.host.empty()) {
      continue;
    }
    const auto same = std::find_if(ports.begin(), ports.end(),
                                   [&](const PortState& port) { return port.port == box.port; });
    if (same != ports.end()) {
      same->boxes.push_back(box.id);
      continue;
    }
    PortState port{box.port, {box.id}, false, logger_runs, false, 0};
    std::error_code error;
    port.is_there = std::filesystem::exists(box.port, error);
    if (port.is_there && !logger_runs) {
      // Without waiting for a carrier, and without becoming this program's terminal.
      const auto file = OpenFile::open(box.port, O_RDWR | O_NOCTTY | O_NONBLOCK, 0, box.port);
      port.open_errno = file ? 0 : file.error().os_errno;
      port.is_terminal = file && ::isatty(file.value().descriptor()) == 1;
    }
    ports.push_back(std::move(port));
  }
  return ports;
}

InspectLine judge_port(const PortState& port) {
  const std::string text = "port " + port.port + " of box " + joined(port.boxes) + ": ";
  if (!port.is_there) {
    return {Judgement::worth_a_look, text + "not there; plug the adapter in or correct job.json"};
  }
  if (port.held_by_logger) {
    return {Judgement::good, text + "there; the running logger works with it"};
  }
  if (port.open_errno == EACCES || port.open_errno == EPERM) {
    return {Judgement::worth_a_look, text +
                                         "there, but this user may not open it; `adduser USER "
                                         "dialout`, then log in anew"};
  }
  if (port.open_errno == EBUSY) {
    return {Judgement::worth_a_look,
            text + "another program holds it; end that program, or give the box another port"};
  }
  if (port.open_errno != 0) {
    return {Judgement::worth_a_look, text + "cannot be opened: " + std::strerror(port.open_errno) +
                                         "; plug the adapter out and in"};
  }
  return port.is_terminal
             ? InspectLine{Judgement::good, text + "there, can be opened"}
             : InspectLine{Judgement::worth_a_look, text + "is no serial device; correct job.json"};
}

std::vector<InspectLine> inspect_permissions(const JobFolder& folder) {
  std::vector<InspectLine> lines;
  for (const auto& place : {folder.root, folder.store_file(), folder.job_file(),
                            folder.public_key(), folder.certificates()}) {
    struct stat status {};
    if (::stat(place.c_str(), &status) == 0 && (status.st_mode & S_IWOTH) != 0) {
      lines.push_back({Judgement::wrong, "permissions: everybody may write " + place.string() +
                                             "; `chmod o-w " + place.string() + "`"});
    }
  }
  if (::access(folder.root.c_str(), W_OK) != 0 ||
      ::access(folder.store_file().c_str(), W_OK) != 0) {
    lines.push_back({Judgement::worth_a_look,
                     "permissions: this user may not write " + folder.root.string() +
                         " and its store; run the logger as their owner, or `chown -R` them"});
  }
  return lines;
}

InspectLine judge_backup(const std::optional<LastBackup>& backup, UtcMicros now,
                         const std::string& job_dir) {
  const std::string what_to_do = "; `dwellog backup " + job_dir + " FILE`, to another disk";
  if (!backup) {
    return {Judgement::worth_a_look, "backup: none was made from here" + what_to_do};
  }
  const std::string text = "backup: the newest is of " +
                           analysis::base::minute_text_from_utc(backup->at) + ", " + backup->file;
  return now - backup->at > kOldBackup ? InspectLine{Judgement::worth_a_look, text + what_to_do}
                                       : InspectLine{Judgement::good, text};
}

}  // namespace logger::app
