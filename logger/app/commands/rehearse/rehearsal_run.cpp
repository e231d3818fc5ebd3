#include "logger/app/commands/rehearse/rehearsal_run.hpp"

#include <fcntl.h>
#include <signal.h>
#include <stdlib.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <memory>
#include <optional>
#include <sstream>

#include "logger/app/commands/job_folder.hpp"
#include "logger/app/files/open_file.hpp"

namespace logger::app {

using std::filesystem::path;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr const char* kSimulatorName = "probe-box-sim";
constexpr timespec kLook{0, 20'000'000};
constexpr std::chrono::seconds kForProgress{1};
constexpr std::chrono::seconds kForSocket{20};
constexpr std::chrono::hours kForAll{1};
constexpr off_t kSpaceNeeded = 4'000'000;  // of a few simulated weeks, a bound of ours

std::string last_line_of(const path& log) {
  std::istringstream lines(read_file(log).value_or(""));
  std::string last;
  for (std::string line; std::getline(lines, line);) {
    last = line.empty() ? last : line;
  }
  return last;
}

sigset_t ending_signals() {
  sigset_t signals;
  sigemptyset(&signals);
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) {
    sigaddset(&signals, signal);
  }
  return signals;
}

// Waits a little; fails when a signal asks to end.
Result<void> wait_a_little() {
  const sigset_t signals = ending_signals();
  const int signal = ::sigtimedwait(&signals, nullptr, &kLook);
  return signal < 0
             ? Result<void>{}
             : failure(ErrorCode::unavailable,
                       std::string("the rehearsal was ended by SIG") + ::sigabbrev_np(signal));
}

// What a child becomes; only calls that are allowed after fork(2).
[[noreturn]] void become(char* const* argv, const char* log, pid_t parent) {
  const sigset_t signals = ending_signals();
  ::sigprocmask(SIG_UNBLOCK, &signals, nullptr);
  const int input = ::open("/dev/null", O_RDONLY);
  const int output = ::open(log, O_WRONLY | O_CREAT | O_APPEND, 0600);
  ::dup2(input, STDIN_FILENO);
  ::dup2(output, STDOUT_FILENO);
  ::dup2(output, STDERR_FILENO);
  // Not left behind by a parent that was killed.
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (output >= 0 && ::getppid() == parent) {
    ::execv(argv[0], argv);
  }
  ::_exit(127);
}

// A child process with both output streams in a file; ended when this goes, or this program.
class Program {
 public:
  static Result<std::unique_ptr<Program>> start(const std::vector<std::string>& arguments,
                                                const path& log) {
    std::vector<char*> argv;
    for (const std::string& argument : arguments) {
      argv.push_back(const_cast<char*>(argument.c_str()));
    }
    argv.push_back(nullptr);
    const pid_t parent = ::getpid();
    const pid_t pid = ::fork();
    if (pid < 0) {
      return system_failure("cannot start " + arguments.front());
    }
    if (pid == 0) {
      become(argv.data(), log.c_str(), parent);
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
    if (const auto waited = wait_a_little(); !waited) {
      return store::Failure{waited.error()};
    }
  }
  return simulator;
}

// Till the logger has ended; the simulator stays until then, unless it fails.
Result<void> await(Program& daemon, Program& simulator, const std::function<void()>& progress) {
  const auto deadline = std::chrono::steady_clock::now() + kForAll;
  auto next_progress = std::chrono::steady_clock::now() + kForProgress;
  while (!daemon.status()) {
    const auto now = std::chrono::steady_clock::now();
    if (now > deadline) {
      return failure(ErrorCode::timeout, "the rehearsal took more than an hour; ended");
    }
    if (now >= next_progress && !simulator.status()) {
      progress();
      next_progress = now + kForProgress;
    }
    if (const auto waited = wait_a_little(); !waited) {
      return waited;
    }
  }
  return wait_a_little();  // a signal may have ended the logger too, as one key does in a terminal
}

}  // namespace

HeldSignals::HeldSignals() : before_{} {
  const sigset_t signals = ending_signals();
  ::sigprocmask(SIG_BLOCK, &signals, &before_);
}

HeldSignals::~HeldSignals() { ::sigprocmask(SIG_SETMASK, &before_, nullptr); }

Result<ScratchFolder> ScratchFolder::make() {
  std::error_code error;
  std::string name = (std::filesystem::temp_directory_path(error) / "dwellog-XXXXXX").string();
  if (error || ::mkdtemp(name.data()) == nullptr) {
    return system_failure("cannot make a scratch folder");
  }
  return ScratchFolder(name);
}

Result<void> ScratchFolder::check_space() const {
  const std::filesystem::path file = path_ / "space";
  auto probe = OpenFile::open(file, O_WRONLY | O_CREAT, 0600, "scratch folder " + path_.string());
  const int fault = probe ? ::posix_fallocate(probe.value().descriptor(), 0, kSpaceNeeded) : 0;
  ::unlink(file.c_str());
  const bool is_full =
      probe ? fault == ENOSPC || fault == EDQUOT : probe.error().code == ErrorCode::no_space;
  return is_full ? failure(ErrorCode::no_space,
                           "scratch folder " + path_.string() +
                               ": no space left on the disk; TMPDIR may name another place")
                 : Result<void>{};
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
    if (const auto waited = wait_a_little(); !waited) {
      return store::Failure{waited.error()};
    }
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
  if (const auto ended = await(*daemon.value(), *simulator.value(), plan.progress); !ended) {
    return ended;
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
