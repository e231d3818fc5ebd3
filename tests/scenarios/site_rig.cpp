#include "tests/scenarios/site_rig.hpp"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <fstream>
#include <sstream>
#include <stdexcept>

#include "logger/app/room/history.hpp"
#include "logger/app/room/room_tracker.hpp"

extern char** environ;

namespace scenarios {

using firmware::sim::SimulationRun;
using firmware::sim::StepOutcome;
using logger::app::OpenedJob;

namespace {

constexpr const char* kDwellog = DWELLOG_PROGRAM;

std::string file_text(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

// Starts the program with both output streams appended to `log`.
pid_t spawn(const std::vector<std::string>& arguments, const std::filesystem::path& log,
            const std::map<std::string, std::string>& extra = {}) {
  std::vector<char*> argv;
  for (const std::string& argument : arguments) {
    argv.push_back(const_cast<char*>(argument.c_str()));
  }
  argv.push_back(nullptr);
  std::vector<std::string> texts;
  for (const auto& [name, value] : extra) {
    texts.push_back(name + "=" + value);
  }
  std::vector<char*> environment;
  for (std::string& text : texts) {
    environment.push_back(text.data());
  }
  for (char** inherited = environ; *inherited != nullptr; ++inherited) {
    environment.push_back(*inherited);
  }
  environment.push_back(nullptr);
  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&actions, 1, log.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0644);
  posix_spawn_file_actions_adddup2(&actions, 1, 2);
  pid_t child = -1;
  const int failed =
      posix_spawn(&child, argv[0], &actions, nullptr, argv.data(), environment.data());
  posix_spawn_file_actions_destroy(&actions);
  if (failed != 0) {
    throw std::runtime_error("cannot start " + arguments.front());
  }
  return child;
}

int exit_status_from(int wait_status) {
  return WIFEXITED(wait_status) ? WEXITSTATUS(wait_status) : 128 + WTERMSIG(wait_status);
}

template <class T>
T required(analysis::base::Result<T, logger::store::Error> result) {
  if (!result) {
    throw std::runtime_error(result.error().context);
  }
  return std::move(result).value();
}

template <class T>
void require(const analysis::base::Result<T, logger::store::Error>& result) {
  if (!result) {
    throw std::runtime_error(result.error().context);
  }
}

}  // namespace

ScratchFolder::ScratchFolder() {
  std::string name = (std::filesystem::temp_directory_path() / "dwellog-XXXXXX").string();
  if (::mkdtemp(name.data()) == nullptr) {
    throw std::runtime_error("cannot make a scratch folder");
  }
  path_ = name;
}

ScratchFolder::~ScratchFolder() {
  std::error_code error;
  std::filesystem::remove_all(path_, error);
}

CommandResult dwellog(const std::vector<std::string>& arguments) {
  const ScratchFolder scratch;
  std::vector<std::string> whole{kDwellog};
  whole.insert(whole.end(), arguments.begin(), arguments.end());
  const pid_t child = spawn(whole, scratch.path() / "log");
  int wait_status = 0;
  ::waitpid(child, &wait_status, 0);
  return {exit_status_from(wait_status), file_text(scratch.path() / "log")};
}

SiteRig::SiteRig(const RigSettings& settings) : environment_(settings.environment) {
  const std::string port = (scratch_.path() / "box.tty").string();
  const CommandResult made = dwellog({"new", job_dir().string(), "--name", "Scenario (invented)",
                                      "--port", port, "--box-serial", "1001"});
  if (made.status != 0) {
    throw std::runtime_error("cannot make a job: " + made.out);
  }
  std::string text = file_text(job_dir() / "job.json");
  if (!settings.job_edit_from.empty()) {
    const std::size_t place = text.find(settings.job_edit_from);
    if (place == std::string::npos) {
      throw std::runtime_error("the template has no " + settings.job_edit_from);
    }
    text.replace(place, settings.job_edit_from.size(), settings.job_edit_to);
  }
  if (settings.make_job) {
    text = settings.make_job(text, port);
  }
  std::ofstream(job_dir() / "job.json", std::ios::binary | std::ios::trunc) << text;
  firmware::sim::RunSettings run;
  run.scenario = settings.scenario;
  run.time_socket = (scratch_.path() / "time.sock").string();
  run.clients = settings.daemon_from_start ? 1 : 0;
  if (!run.scenario.boxes.empty() || !run.scenario.transmitters.empty()) {
    firmware::sim::place_on_ports(run, port);
  }
  const bool declares = !run.boxes.empty() || !run.transmitters.empty();
  for (std::size_t i = 0; !declares && i < settings.boxes; ++i) {
    firmware::sim::BoxOnLine box;
    box.port = port;
    box.box.unit = static_cast<std::uint8_t>(1 + i);
    box.box.serial = 1001 + i;
    box.box.memory_bytes = settings.memory_bytes;
    run.boxes.push_back(box);
  }
  auto site = SimulationRun::create(run);
  if (!site) {
    throw std::runtime_error(site.error());
  }
  site_ = std::move(site).value();
}

SiteRig::~SiteRig() { kill_daemon(); }

void SiteRig::start_daemon() {
  daemon_status_.reset();
  ended_by_us_ = false;
  daemon_ = spawn({kDwellog, "run", job_dir().string(), "--simulated-time",
                   (scratch_.path() / "time.sock").string()},
                  scratch_.path() / "daemon.log", environment_);
}

void SiteRig::kill_daemon() {
  if (daemon_ > 0 && !daemon_status_) {
    ::kill(daemon_, SIGKILL);
    int wait_status = 0;
    ::waitpid(daemon_, &wait_status, 0);
    daemon_status_ = exit_status_from(wait_status);
  }
  ended_by_us_ = true;
}

void SiteRig::stop_daemon() {
  ended_by_us_ = true;
  if (daemon_ > 0 && !daemon_status_) {
    ::kill(daemon_, SIGTERM);
  }
}

void SiteRig::start_daemon_now() {
  site_->hold_for_client();
  start_daemon();
}

void SiteRig::kill_and_restart_daemon() {
  kill_daemon();
  start_daemon_now();
}

bool SiteRig::daemon_has_ended() {
  int wait_status = 0;
  if (daemon_ > 0 && !daemon_status_ && ::waitpid(daemon_, &wait_status, WNOHANG) == daemon_) {
    daemon_status_ = exit_status_from(wait_status);
  }
  return daemon_status_.has_value();
}

std::optional<int> SiteRig::run_to_end() {
  constexpr std::chrono::milliseconds kStep{20};
  constexpr int kStepsBeforeHanging = 3000;  // a minute in which nothing happens
  int idle_steps = 0;
  while (true) {
    const StepOutcome outcome = site_->step(kStep);
    if (outcome == StepOutcome::ended) {
      break;
    }
    idle_steps = outcome == StepOutcome::waiting ? idle_steps + 1 : 0;
    if (daemon_has_ended() && !ended_by_us_ && !site_->scenario_over()) {
      return daemon_status_;
    }
    if (idle_steps > kStepsBeforeHanging) {
      kill_daemon();
      return std::nullopt;
    }
  }
  if (daemon_ > 0 && !daemon_status_) {
    int wait_status = 0;
    ::waitpid(daemon_, &wait_status, 0);
    daemon_status_ = exit_status_from(wait_status);
  }
  return daemon_status_;
}

std::string SiteRig::daemon_log() const { return file_text(scratch_.path() / "daemon.log"); }

OpenedJob SiteRig::open() const { return required(logger::app::open_job(job_dir(), false)); }

std::vector<std::string> stored_records(OpenedJob& opened) {
  std::vector<std::string> lines;
  for (const auto& box : opened.job.boxes) {
    for (const auto& span : required(opened.store->boots(box.id))) {
      const auto visited = opened.store->visit_records(
          box.id, {span.boot, span.first_sequence}, {span.boot, span.last_sequence},
          [&](const logger::store::Record& record) {
            std::ostringstream line;
            line << box.id << ' ' << record.id.boot << ' ' << record.id.sequence << ' '
                 << record.ticks_ms << ' ' << record.flags;
            for (std::size_t i = 0; i < record.raw_counts.size(); ++i) {
              line << ' ' << static_cast<int>(record.statuses[i]) << ':' << record.raw_counts[i];
            }
            lines.push_back(line.str());
            return true;
          });
      require(visited);
    }
  }
  return lines;
}

analysis::readiness::RoomReplay replay_by_ticks(OpenedJob& opened) {
  const auto records = required(logger::app::job_records_from(*opened.store));
  auto setup = logger::app::room_setup_from(opened.job, opened.job.rooms.front(), records);
  constexpr analysis::base::UtcMicros kBegin{1'772'434'800'000'000};
  setup.delivered_at = kBegin;
  analysis::readiness::RoomReplay replay(setup);
  const std::string& box_id = opened.job.boxes.front().id;
  analysis::base::Micros boot_begin{0};
  std::int64_t last_ticks = 0;
  for (const auto& span : required(opened.store->boots(box_id))) {
    boot_begin += analysis::base::Micros{last_ticks * 1000};
    const auto visited = opened.store->visit_records(
        box_id, {span.boot, span.first_sequence}, {span.boot, span.last_sequence},
        [&](const logger::store::Record& record) {
          last_ticks = record.ticks_ms;
          replay.add(box_id, record,
                     kBegin + boot_begin + analysis::base::Micros{record.ticks_ms * 1000});
          return true;
        });
    require(visited);
  }
  return replay;
}

UtcHours hours_by_utc(OpenedJob& opened) {
  const auto records = required(logger::app::job_records_from(*opened.store));
  const auto tracker = required(logger::app::RoomTracker::rebuild(
      *opened.store, opened.job, opened.job.rooms.front(), records, std::nullopt));
  UtcHours result{tracker.replay().dwell().in_band_seconds / 3600.0, 0.0};
  const auto visited = logger::app::visit_history(
      *opened.store, {{opened.job.boxes.front().id}, std::nullopt, std::nullopt, {}},
      [&](const std::string&, const logger::store::Record&, analysis::base::DatedTime at) {
        result.error_hours = std::max(result.error_hours, analysis::base::hours_from(at.error));
      });
  require(visited);
  return result;
}

}  // namespace scenarios
