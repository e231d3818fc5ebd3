#include "logger/notify/delivery.hpp"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <spawn.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <utility>

#include "analysis/base/one_line.hpp"
#include "logger/transfer/pipe_signal_block.hpp"

namespace logger::notify {
namespace {

using store::ErrorCode;
using store::failure;
using SteadyTime = std::chrono::steady_clock::time_point;

constexpr std::size_t kStderrKept = 200;  // bytes

class Descriptor {
 public:
  Descriptor() = default;
  explicit Descriptor(int fd) : fd_(fd) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  Descriptor(Descriptor&& other) noexcept : fd_(std::exchange(other.fd_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(fd_, other.fd_);
    return *this;
  }
  ~Descriptor() { close(); }
  void close() {
    if (fd_ >= 0) {
      ::close(std::exchange(fd_, -1));
    }
  }
  [[nodiscard]] int get() const { return fd_; }  // -1 = none, which poll() passes over

 private:
  int fd_ = -1;
};

// What posix_spawn is told: group of its own, default signals, three descriptors and no more.
class SpawnSettings {
 public:
  SpawnSettings(int standard_input, int standard_error) {
    posix_spawn_file_actions_init(&actions_);
    posix_spawn_file_actions_adddup2(&actions_, standard_input, STDIN_FILENO);
    posix_spawn_file_actions_addopen(&actions_, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_adddup2(&actions_, standard_error, STDERR_FILENO);
    posix_spawn_file_actions_addclosefrom_np(&actions_, STDERR_FILENO + 1);
    posix_spawnattr_init(&attributes_);
    sigset_t signals;
    sigemptyset(&signals);
    posix_spawnattr_setsigmask(&attributes_, &signals);
    sigfillset(&signals);
    posix_spawnattr_setsigdefault(&attributes_, &signals);
    posix_spawnattr_setpgroup(&attributes_, 0);
    posix_spawnattr_setflags(
        &attributes_, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
  }
  SpawnSettings(const SpawnSettings&) = delete;
  SpawnSettings& operator=(const SpawnSettings&) = delete;
  ~SpawnSettings() {
    posix_spawn_file_actions_destroy(&actions_);
    posix_spawnattr_destroy(&attributes_);
  }
  // 0, or the errno of what failed, exec in the child included.
  int spawn(pid_t& pid, const std::vector<std::string>& argv) const {
    std::vector<char*> arguments;
    for (const std::string& argument : argv) {
      arguments.push_back(const_cast<char*>(argument.c_str()));
    }
    arguments.push_back(nullptr);
    return posix_spawnp(&pid, arguments[0], &actions_, &attributes_, arguments.data(), environ);
  }

 private:
  posix_spawn_file_actions_t actions_{};
  posix_spawnattr_t attributes_{};
};

// A running program: our ends of its pipes and a descriptor that becomes readable when it ends.
struct Child {
  pid_t pid = -1;
  Descriptor ended;
  Descriptor input;
  Descriptor error_output;
  std::string stderr_head;
};

std::string quoted_command(const std::vector<std::string>& argv) {
  return "alert command \"" + argv.front() + "\"";
}

Result<std::pair<Descriptor, Descriptor>> make_pipe() {
  std::array<int, 2> ends{};
  if (::pipe2(ends.data(), O_CLOEXEC) != 0) {
    return failure(ErrorCode::io, "no pipe for an alert command", errno);
  }
  return std::pair{Descriptor(ends[0]), Descriptor(ends[1])};
}

// Kills the whole group and takes its first process off the process table.
void kill_group(pid_t pid) {
  ::kill(-pid, SIGKILL);
  while (::waitpid(pid, nullptr, 0) < 0 && errno == EINTR) {
  }
}

Result<Child> start(const std::vector<std::string>& argv) {
  auto input = make_pipe();
  auto error_output = make_pipe();
  if (!input || !error_output) {
    return store::Failure{input ? error_output.error() : input.error()};
  }
  Child child;
  child.input = std::move(input.value().second);
  child.error_output = std::move(error_output.value().first);
  const SpawnSettings settings(input.value().first.get(), error_output.value().second.get());
  if (const int code = settings.spawn(child.pid, argv); code != 0) {
    const ErrorCode category = code == ENOENT ? ErrorCode::not_found
                               : code == EACCES || code == ENOEXEC || code == ENOTDIR
                                   ? ErrorCode::invalid_input
                                   : ErrorCode::io;
    return failure(category, quoted_command(argv) + " can't be started: " + std::strerror(code),
                   code);
  }
  // By its number: the header of glibc 2.36 lacks the C linkage of pidfd_open().
  child.ended = Descriptor(static_cast<int>(::syscall(SYS_pidfd_open, child.pid, 0)));
  if (child.ended.get() < 0) {
    const int code = errno;
    kill_group(child.pid);
    return failure(ErrorCode::io, quoted_command(argv) + " can't be watched, so it was ended",
                   code);
  }
  ::fcntl(child.input.get(), F_SETFL, O_NONBLOCK);
  ::fcntl(child.error_output.get(), F_SETFL, O_NONBLOCK);
  return child;
}

// Writes what the pipe takes; closes it after the last byte or when the program closed its end.
void feed(Child& child, std::string_view& rest) {
  while (!rest.empty()) {
    const ssize_t written = ::write(child.input.get(), rest.data(), rest.size());
    if (written >= 0) {
      rest.remove_prefix(static_cast<std::size_t>(written));
    } else if (errno == EAGAIN) {
      return;
    } else if (errno != EINTR) {
      break;
    }
  }
  child.input.close();
}

// Reads what is there, keeps the head, closes at the end.
void drain(Child& child) {
  std::array<char, 4096> bytes{};
  for (;;) {
    const ssize_t count = ::read(child.error_output.get(), bytes.data(), bytes.size());
    if (count > 0) {
      const std::size_t room = kStderrKept - child.stderr_head.size();
      child.stderr_head.append(bytes.data(), std::min(room, static_cast<std::size_t>(count)));
    } else if (count == 0 || errno != EINTR) {
      if (count == 0 || errno != EAGAIN) {
        child.error_output.close();
      }
      return;
    }
  }
}

// True when it ended by itself before the deadline.
bool run_until_end(Child& child, std::string_view json, SteadyTime deadline) {
  for (;;) {
    const auto left =
        std::chrono::ceil<std::chrono::milliseconds>(deadline - std::chrono::steady_clock::now());
    if (left.count() <= 0) {
      return false;
    }
    std::array<pollfd, 3> waiting{{{child.ended.get(), POLLIN, 0},
                                   {child.input.get(), POLLOUT, 0},
                                   {child.error_output.get(), POLLIN, 0}}};
    if (::poll(waiting.data(), waiting.size(), static_cast<int>(left.count())) < 0) {
      continue;
    }
    if (waiting[1].revents != 0) {
      feed(child, json);
    }
    if (waiting[2].revents != 0) {
      drain(child);
    }
    if (waiting[0].revents != 0) {
      return true;
    }
  }
}

Result<void> result_from_status(const std::vector<std::string>& argv, const Child& child) {
  int status = 0;
  while (::waitpid(child.pid, &status, 0) < 0) {
    if (errno != EINTR) {
      return failure(ErrorCode::io, quoted_command(argv) + ": its exit status is lost", errno);
    }
  }
  if (WIFEXITED(status) && WEXITSTATUS(status) == 0) {
    return {};
  }
  const std::string how = WIFEXITED(status)
                              ? " ended with status " + std::to_string(WEXITSTATUS(status))
                              : " was ended by signal " + std::to_string(WTERMSIG(status));
  const std::string said = analysis::base::one_line(child.stderr_head);
  return failure(ErrorCode::unavailable,
                 quoted_command(argv) + how + (said.empty() ? "" : ": " + said));
}

}  // namespace

Result<void> deliver_by_command(const std::vector<std::string>& argv, std::string_view json,
                                std::chrono::seconds timeout) {
  if (argv.empty() || argv.front().empty()) {
    return failure(ErrorCode::invalid_input, "the alert command names no program");
  }
  const SteadyTime deadline = std::chrono::steady_clock::now() + timeout;
  const transfer::PipeSignalBlock no_pipe_signal;
  auto started = start(argv);
  if (!started) {
    return store::Failure{started.error()};
  }
  Child& child = started.value();
  if (!run_until_end(child, json, deadline)) {
    kill_group(child.pid);
    return failure(ErrorCode::timeout, quoted_command(argv) + " did not end within " +
                                           std::to_string(timeout.count()) +
                                           " s and was killed with all it started");
  }
  return result_from_status(argv, child);
}

UtcMicros next_attempt_at(int attempts, UtcMicros now) {
  constexpr std::chrono::seconds kFirst{10};
  constexpr std::chrono::seconds kLongest{3600};
  constexpr int kMostDoublings = 9;  // 10 s << 9 is past kLongest
  const int doublings = std::clamp(attempts - 1, 0, kMostDoublings);
  return now + std::min(kFirst * (1 << doublings), kLongest);
}

UtcMicros next_attempt_after_refusal(int attempts, UtcMicros now) {
  constexpr int kAttemptsBeforeADay = 12;
  return now + std::chrono::hours(attempts < kAttemptsBeforeADay ? 1 : 24);
}

}  // namespace logger::notify
