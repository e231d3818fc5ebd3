// inspect: everything about a job folder that can be looked at without changing it.
#include <cmath>
#include <ostream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/inspect/inspect_log.hpp"
#include "logger/app/commands/inspect/page_state.hpp"
#include "logger/app/commands/inspect/surroundings.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/keys/key_files.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/store/store_check.hpp"

namespace logger::app {

using store::Result;

namespace {

// Replays every room and compares with what the logger keeps from day to day.
Result<bool> accounts_agree(OpenedJob& opened, const Console& console) {
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  bool agree = true;
  for (const JobRoom& room : opened.job.rooms) {
    const auto kept = RoomTracker::open(*opened.store, opened.job, room, records.value());
    const auto rebuilt =
        RoomTracker::rebuild(*opened.store, opened.job, room, records.value(), std::nullopt);
    if (!kept || !rebuilt) {
      return store::Failure{!kept ? kept.error() : rebuilt.error()};
    }
    const double kept_hours = kept.value().replay().dwell().in_band_seconds / 3600.0;
    const double rebuilt_hours = rebuilt.value().replay().dwell().in_band_seconds / 3600.0;
    const bool same =
        std::abs(kept_hours - rebuilt_hours) < 1e-6 &&
        kept.value().replay().dwell().resets == rebuilt.value().replay().dwell().resets;
    console.out << "room " << room.id << ": dwell " << (same ? "agrees with" : "DIFFERS from")
                << " a replay of all readings (" << kept_hours << " h, replayed " << rebuilt_hours
                << " h)\n";
    agree = agree && same;
  }
  return agree;
}

// True when nothing of it is wrong.
bool print(const InspectLine& line, std::ostream& out) {
  const char* mark = line.judgement == Judgement::wrong          ? "WRONG: "
                     : line.judgement == Judgement::worth_a_look ? "worth a look: "
                                                                 : "";
  out << mark << line.text << '\n';
  return line.judgement != Judgement::wrong;
}

InspectLine key_line(const JobFolder& folder) {
  const auto key = check_secret_key(folder);
  if (key) {
    return {Judgement::good, std::string("keys: readable by their owner alone") +
                                 (key.value().is_protected ? ", protected by a passphrase" : "")};
  }
  return {Judgement::wrong,
          "keys: " + key.error().context +
              "; without it nothing can be signed: put your copy back, or `dwellog "
              "keys " +
              folder.root.string() + " rotate --lost`"};
}

// What the logger needs of the machine. False when something of it is wrong.
Result<bool> surroundings_good(OpenedJob& opened, std::ostream& out) {
  const auto seen = opened.store->last_seen();
  const auto disk = read_disk(opened);
  if (!seen || !disk) {
    return store::Failure{!seen ? seen.error() : disk.error()};
  }
  std::vector<InspectLine> lines = inspect_permissions(opened.folder);
  lines.push_back(key_line(opened.folder));
  // The time of a simulated site says nothing of this machine's.
  const ClockState clock = read_clock(opened.simulated ? std::nullopt : seen.value());
  lines.push_back(judge_clock(clock));
  lines.push_back(judge_disk(disk.value()));
  for (const PortState& port : read_ports(opened)) {
    lines.push_back(judge_port(port));
  }
  if (const auto page = read_page(opened)) {
    lines.push_back(judge_page(*page, opened.folder.root.string()));
  }
  lines.push_back(
      judge_backup(last_backup_of(opened.folder.root), clock.now, opened.folder.root.string()));
  bool good = true;
  for (const InspectLine& line : lines) {
    good = print(line, out) && good;
  }
  for (const JobBox& box : opened.job.boxes) {
    if (!box.csv && !box.host.empty()) {
      out << "adapter " << box.host << " port " << box.tcp_port << " of box " << box.id
          << ": not tried from here; `dwellog run` reports whether it answers\n";
    }
  }
  return good;
}

}  // namespace

int inspect(const path& job_dir, const Console& console) {
  auto opened = open_job(job_dir, false);
  if (!opened) {
    return report(console, opened.error());
  }
  const auto checked = store::full_check(opened.value().folder.store_file().string());
  if (!checked) {
    return report(console, checked.error());
  }
  console.out << "store: sound (every page, index and reference read)\n";
  const int evidence = inspect_evidence(opened.value(), console);
  const auto good = surroundings_good(opened.value(), console.out);
  const auto agree = good ? accounts_agree(opened.value(), console) : store::Failure{good.error()};
  if (!agree) {
    return report(console, agree.error());
  }
  if (!agree.value()) {
    return kExitCouldNotDo;
  }
  return evidence != kExitDone ? evidence : good.value() ? kExitDone : kExitInput;
}

}  // namespace logger::app
