// A simulated site in this process with the real daemon as a child process, for scenarios: the test
// can kill the daemon or cut its line at any frame and compare what was stored.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "analysis/readiness/room_replay.hpp"
#include "firmware-sim/sim/scenario.hpp"
#include "firmware-sim/sim/simulation_run.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace scenarios {

// A folder that goes with the test.
class ScratchFolder {
 public:
  ScratchFolder();
  ~ScratchFolder();
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

struct CommandResult {
  int status = -1;
  std::string out;  // both streams
};
// Runs the dwellog of this build.
CommandResult dwellog(const std::vector<std::string>& arguments);

struct RigSettings {
  firmware::sim::Scenario scenario;
  std::size_t boxes = 1;
  std::string job_edit_from;  // this text of the template job.json ...
  std::string job_edit_to;    // ... becomes that; empty = as it is
  // Makes job.json from the template's text and the path of the first line; none = the template.
  std::function<std::string(const std::string& job_text, const std::string& port)> make_job;
  std::map<std::string, std::string> environment;  // of the daemon, beside ours
  bool daemon_from_start = true;                   // time waits for it at the start
  std::size_t memory_bytes = 1024 * 1024;
};

class SiteRig {
 public:
  // Boxes of the scenario, or else `boxes` of them on one line.
  explicit SiteRig(const RigSettings& settings);
  ~SiteRig();
  SiteRig(const SiteRig&) = delete;
  SiteRig& operator=(const SiteRig&) = delete;

  void start_daemon();
  // SIGKILL; waits until it is gone.
  void kill_daemon();
  // SIGTERM; it goes when it is ready to.
  void stop_daemon();
  // A new one at this simulated moment.
  void start_daemon_now();
  // kill_daemon, then a new one at the same simulated moment.
  void kill_and_restart_daemon();
  // Until the scenario is over and the daemon has gone; its exit status. A daemon that hangs for a
  // minute of wall time is ended and reported as nullopt.
  std::optional<int> run_to_end();

  [[nodiscard]] firmware::sim::SimulationRun& site() { return *site_; }
  [[nodiscard]] std::filesystem::path job_dir() const { return scratch_.path() / "job"; }
  [[nodiscard]] std::string daemon_log() const;
  [[nodiscard]] logger::app::OpenedJob open() const;

 private:
  bool daemon_has_ended();

  ScratchFolder scratch_;
  std::unique_ptr<firmware::sim::SimulationRun> site_;
  std::map<std::string, std::string> environment_;
  pid_t daemon_ = -1;
  bool ended_by_us_ = false;
  std::optional<int> daemon_status_;
};

// One stored record as text: box, boot, sequence, ticks, flags, statuses, raw counts.
std::vector<std::string> stored_records(logger::app::OpenedJob& opened);

// What the room's records say when dated by the box's ticks alone, so that two runs whose clock
// exchanges differ can be compared exactly.
analysis::readiness::RoomReplay replay_by_ticks(logger::app::OpenedJob& opened);

// Dwell hours when dated by UTC, and the largest error of those dates in hours.
struct UtcHours {
  double hours = 0.0;
  double error_hours = 0.0;
};
UtcHours hours_by_utc(logger::app::OpenedJob& opened);

}  // namespace scenarios
