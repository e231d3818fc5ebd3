// inspect: everything about a job folder that can be looked at without changing it.
#include <cmath>
#include <ostream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/inspect/inspect_log.hpp"
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

}  // namespace

int inspect(const path& job_dir, const Console& console) {
  auto opened = open_job(job_dir, false);
  if (!opened) {
    return report(console, opened.error());
  }
  const auto key = check_secret_key(opened.value().folder);
  if (!key) {
    return report(console, key.error());
  }
  console.out << "keys: readable by their owner alone"
              << (key.value().is_protected ? ", protected by a passphrase\n" : "\n");
  const auto checked = store::full_check(opened.value().folder.store_file().string());
  if (!checked) {
    return report(console, checked.error());
  }
  console.out << "store: sound (every page, index and reference read)\n";
  const int evidence = inspect_evidence(opened.value(), console);
  for (const JobBox& box : opened.value().job.boxes) {
    if (!box.csv && box.host.empty()) {
      std::error_code error;
      const bool there = std::filesystem::exists(box.port, error);
      console.out << "port " << box.port << " of box " << box.id << ": "
                  << (there ? "there" : "not there; plug the adapter in or correct job.json")
                  << '\n';
    } else if (!box.csv) {
      console.out << "adapter " << box.host << " port " << box.tcp_port << " of box " << box.id
                  << ": not tried from here; `dwellog run` reports whether it answers\n";
    }
  }
  const auto agree = accounts_agree(opened.value(), console);
  if (!agree) {
    return report(console, agree.error());
  }
  return agree.value() ? evidence : kExitCouldNotDo;
}

}  // namespace logger::app
