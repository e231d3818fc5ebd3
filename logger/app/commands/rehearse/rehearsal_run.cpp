#include "logger/app/commands/rehearse/rehearsal_run.hpp"

#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdlib.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <memory>
#include <optional>
#include <sstream>
#include <thread>

#include "logger/app/commands/job_folder.hpp"
#include "logger/app/files/open_file.hpp"

namespace logger::app {

using std::filesystem::path;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr const char* kSimulatorName = "probe-box-sim";
constexpr std::chrono::milliseconds kLook{20};
constexpr std::chrono::seconds kForSocket{20};
constexpr std::chrono::hours kForAll{1};

std::string last_line_of(const path& log) {
  std::istringstream lines(read_file(log).value_or(""));
  std::string last;
  for (std::string line; std::getline(lines, line);) {
    last = line.empty() ? last : line;
  }
  return last;
}

// A child process with both output streams in a file; ended when this goes.
class Program {
 public:
  static Result<std::unique_ptr<Program>> start(const std::vector<std::string>& arguments,
                                                const path& log) {
    std::vector<char*> argv;
    for (const std::string& argument : arguments) {
      argv.push_back(const_cast<char*>(argument.c_str()));
    }
    argv.push_back(nullptr);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, STDIN_FILENO, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_addopen(&actions, STDOUT_FILENO, log.c_str(),
                                     O_WRONLY | O_CREAT | O_APPEND, 0600);
    posix_spawn_file_actions_adddup2(&actions, STDOUT_FILENO, STDERR_FILENO);
    pid_t pid = -1;
    const int fault = posix_spawn(&pid, argv[0], &actions, nullptr, argv.data(), environ);
    posix_spawn_file_actions_destroy(&actions);
    if (fault != 0) {
      errno = fault;
      return system_failure("cannot start " + arguments.front());
    }
    return std::unique_ptr<Program>(new Program(pid));
  }
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;
  ~Program() {
    if (!status()) {
      ::kill(pid_, SIGKILL);
      ::waitpid(pid_, nullptr, 0);
    }
  }
  // Exit status, 128 and more for a signal; nullopt while it runs.
  std::optional<int> status() {
    int ended = 0;
    if (!status_ && ::waitpid(pid_, &ended, WNOHANG) == pid_) {
      status_ = WIFEXITED(ended) ? WEXITSTATUS(ended) : 128 + WTERMSIG(ended);
    }
    return status_;
  }

 private:
  explicit Program(pid_t pid) : pid_(pid) {}
  pid_t pid_;
  std::optional<int> status_;
};

path own_program() {
  std::error_code error;
  return std::filesystem::read_symlink("/proc/self/exe", error);
}

Result<std::unique_ptr<Program>> start_simulator(const RehearsalPlan& plan, const path& socket,
                                                 const path& log) {
  std::vector<std::string> arguments{
      plan.simulator.string(), "--scenario",   plan.scenario, "--clients", "1",
      "--time-socket",         socket.string()};
  for (const std::string& box : plan.boxes) {
    arguments.insert(arguments.end(), {"--box", box});
  }
  auto simulator = Program::start(arguments, log);
  if (!simulator) {
    return simulator;
  }
  const auto deadline = std::chrono::steady_clock::now() + kForSocket;
  std::error_code error;
  while (!std::filesystem::exists(socket, error)) {
    if (simulator.value()->status()) {
      return failure(ErrorCode::invalid_input, last_line_of(log));
    }
    if (std::chrono::steady_clock::now() > deadline) {
      return failure(ErrorCode::timeout, "the simulator has made no socket within 20 s");
    }
    std::this_thread::sleep_for(kLook);
  }
  return simulator;
}

}  // namespace

Result<ScratchFolder> ScratchFolder::make() {
  std::error_code error;
  std::string name = (std::filesystem::temp_directory_path(error) / "dwellog-XXXXXX").string();
  if (error || ::mkdtemp(name.data()) == nullptr) {
    return system_failure("cannot make a scratch folder");
  }
  return ScratchFolder(name);
}

ScratchFolder::~ScratchFolder() {
  if (!path_.empty()) {
    std::error_code error;
    std::filesystem::remove_all(path_, error);
  }
}

Result<path> find_simulator() {
  const path beside = own_program().parent_path() / kSimulatorName;
  if (::access(beside.c_str(), X_OK) == 0) {
    return beside;
  }
  const char* places = std::getenv("PATH");
  std::istringstream folders(places == nullptr ? "" : places);
  for (std::string folder; std::getline(folders, folder, ':');) {
    const path program = path(folder) / kSimulatorName;
    if (!folder.empty() && ::access(program.c_str(), X_OK) == 0) {
      return program;
    }
  }
  return failure(ErrorCode::not_found, std::string("no ") + kSimulatorName + " beside " +
                                           own_program().string() +
                                           " nor in PATH; a rehearsal "
                                           "needs it");
}

Result<std::string> built_in_scenario(const path& simulator, const std::string& name) {
  auto scratch = ScratchFolder::make();
  if (!scratch) {
    return store::Failure{scratch.error()};
  }
  const path log = scratch.value().path() / "text";
  auto program = Program::start({simulator.string(), "--show", name}, log);
  if (!program) {
    return store::Failure{program.error()};
  }
  while (!program.value()->status()) {
    std::this_thread::sleep_for(kLook);
  }
  if (program.value()->status() != 0) {
    return failure(ErrorCode::invalid_input,
                   "SCENARIO `" + name + "`: no file of that name, and no built-in scenario; `" +
                       kSimulatorName + " --list` names those");
  }
  return read_file(log);
}

Result<void> run_rehearsal(const RehearsalPlan& plan) {
  const path socket = plan.scratch / "time";
  const path simulator_log = plan.scratch / "simulator.log";
  const path daemon_log = plan.scratch / "daemon.log";
  auto simulator = start_simulator(plan, socket, simulator_log);
  if (!simulator) {
    return store::Failure{simulator.error()};
  }
  auto daemon = Program::start(
      {own_program().string(), "run", plan.job_dir.string(), "--simulated-time", socket.string()},
      daemon_log);
  if (!daemon) {
    return store::Failure{daemon.error()};
  }
  const auto deadline = std::chrono::steady_clock::now() + kForAll;
  // The simulator stays until the logger has gone.
  while (!daemon.value()->status() && !simulator.value()->status()) {
    if (std::chrono::steady_clock::now() > deadline) {
      return failure(ErrorCode::timeout, "the rehearsal took more than an hour; ended");
    }
    std::this_thread::sleep_for(kLook);
  }
  while (!daemon.value()->status() && std::chrono::steady_clock::now() <= deadline) {
    std::this_thread::sleep_for(kLook);
  }
  if (daemon.value()->status() != 0) {
    const std::string simulator_line = last_line_of(simulator_log);
    return failure(ErrorCode::unavailable,
                   "the rehearsal's logger ended early: " + last_line_of(daemon_log) +
                       (simulator_line.empty() ? "" : "\n" + simulator_line));
  }
  return {};
}

}  // namespace logger::app
