// The programs of a rehearsal: the simulator and a logger of its own, on a scratch folder.
#pragma once

#include <signal.h>

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "logger/store/error.hpp"

namespace logger::app {

// Keeps SIGINT, SIGTERM and SIGHUP waiting while it lives, so that nothing of a rehearsal is left
// behind: what blocks here looks for them and ends with unavailable.
class HeldSignals {
 public:
  HeldSignals();
  HeldSignals(const HeldSignals&) = delete;
  HeldSignals& operator=(const HeldSignals&) = delete;
  ~HeldSignals();

 private:
  sigset_t before_;
};

// A folder of the system's place for temporary files, gone when this goes.
class ScratchFolder {
 public:
  [[nodiscard]] static store::Result<ScratchFolder> make();
  ScratchFolder(ScratchFolder&& other) noexcept : path_(std::move(other.path_)) {
    other.path_.clear();
  }
  ScratchFolder& operator=(ScratchFolder&&) = delete;
  ~ScratchFolder();
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  // no_space where the disk is full or nearly so.
  [[nodiscard]] store::Result<void> check_space() const;

 private:
  explicit ScratchFolder(std::filesystem::path path) : path_(std::move(path)) {}
  std::filesystem::path path_;
};

// Beside this program, else the first in PATH. not_found names both places.
[[nodiscard]] store::Result<std::filesystem::path> find_simulator();

// The text of a built-in scenario. invalid_input with what the simulator says when it has none.
[[nodiscard]] store::Result<std::string> built_in_scenario(const std::filesystem::path& simulator,
                                                           const std::string& name);

struct RehearsalPlan {
  std::filesystem::path simulator;
  std::string scenario;            // name or file
  std::vector<std::string> boxes;  // UNIT:SERIAL:PORT
  std::filesystem::path scratch;   // sockets and logs
  std::filesystem::path job_dir;
  std::function<void()> progress;  // called about once a second
};
// Runs both to the scenario's end. Blocks; both are ended when either fails. Errors: invalid_input
// (the simulator refuses the scenario), unavailable (a program ended early: its last line; a
// signal), timeout (more than an hour of real time), io.
[[nodiscard]] store::Result<void> run_rehearsal(const RehearsalPlan& plan);

}  // namespace logger::app
