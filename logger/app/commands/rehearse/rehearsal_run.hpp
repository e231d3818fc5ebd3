// The programs of a rehearsal: the simulator and a logger of its own, on a scratch folder.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "logger/store/error.hpp"

namespace logger::app {

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
};
// Runs both to the scenario's end. Blocks; both are ended when either fails. Errors: invalid_input
// (the simulator refuses the scenario), unavailable (a program ended early; its last line),
// timeout (more than an hour of real time), io.
[[nodiscard]] store::Result<void> run_rehearsal(const RehearsalPlan& plan);

}  // namespace logger::app
