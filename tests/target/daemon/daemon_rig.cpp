#include "tests/target/daemon/daemon_rig.hpp"

#include <fcntl.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <fstream>
#include <set>
#include <sstream>
#include <stdexcept>

#include "logger/app/commands/job_folder.hpp"
#include "tests/target/fake_ports.hpp"

namespace target_test {
namespace {

using firmware::core::RecordKey;
using Clock = std::chrono::steady_clock;

constexpr const char* kProgram = DWELLOG_PROGRAM;
constexpr std::uint32_t kSerial = 42;
// Only turns a hang into a failure.
constexpr std::chrono::seconds kHangs{60};

pid_t spawn(std::vector<std::string> words, const std::filesystem::path& log) {
  std::vector<char*> arguments;
  for (std::string& word : words) {
    arguments.push_back(word.data());
  }
  arguments.push_back(nullptr);
  const std::string log_name = log.string();
  const pid_t child = ::fork();
  if (child == 0) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);  // a test that crashes leaves nothing behind
    const int file = ::open(log_name.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0600);
    ::dup2(file, STDOUT_FILENO);
    ::dup2(file, STDERR_FILENO);
    ::execv(arguments[0], arguments.data());
    ::_exit(127);
  }
  return child;
}

int wait_for(pid_t child) {
  int status = 0;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

std::string text_of(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

// 15 bits in each of two channels, since counts are signed.
std::uint32_t number_from(std::int32_t low, std::int32_t high) {
  return static_cast<std::uint32_t>(low) + (static_cast<std::uint32_t>(high) << 15U);
}

template <class T>
T required(analysis::base::Result<T, logger::store::Error> result) {
  if (!result) {
    throw std::runtime_error(result.error().context);
  }
  return std::move(result).value();
}

}  // namespace

DaemonRig::DaemonRig(std::uint32_t flash_blocks)
    : emulator(DWELLOG_PROBE_BOX_ELF, Emulator::Line::pseudo_terminal),
      folder_(std::filesystem::path(emulator.folder()) / "logger") {
  std::filesystem::create_directory(folder_);
  const std::string port = (folder_ / "box.tty").string();
  const int made = wait_for(spawn({kProgram, "new", job().string(), "--name", "Bench (invented)",
                                   "--port", port, "--box-serial", std::to_string(kSerial)},
                                  folder_ / "new.log"));
  std::string text = text_of(job() / "job.json");
  const std::string slow = "\"collect_every_seconds\": 300";
  const std::size_t at = text.find(slow);
  if (made != 0 || at == std::string::npos) {
    throw std::runtime_error("no job: " + text_of(folder_ / "new.log"));
  }
  text.replace(at, slow.size(), "\"collect_every_seconds\": 5");
  std::ofstream(job() / "job.json", std::ios::binary | std::ios::trunc) << text;

  auto& control = emulator.control();
  control.serial = kSerial;
  control.flash_blocks = flash_blocks;
  control.settle_ms = 3'600'000;  // only the samples that a test takes
  control.baud = firmware::target::kSlowBaud;
  emulator.start();
  open_terminal();
}

DaemonRig::~DaemonRig() {
  kill_daemon();
  ::close(held_);
}

void DaemonRig::open_terminal() {
  if (held_ >= 0) {
    ::close(held_);
  }
  const std::string terminal = emulator.terminal();
  held_ = ::open(terminal.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
  // The emulator looks once a second whether somebody opened it.
  const auto ask = firmware::target::bytes_from_hex("01 03 00 00 00 1c 44 03");
  if (held_ < 0 || exchange_on(held_, ask).empty()) {
    throw std::runtime_error("no answer on " + terminal);
  }
  std::filesystem::remove(folder_ / "box.tty");
  std::filesystem::create_symlink(terminal, folder_ / "box.tty");
}

void DaemonRig::start_daemon() {
  daemon_ = spawn({kProgram, "run", job().string()}, folder_ / "daemon.log");
}

void DaemonRig::kill_daemon() {
  if (daemon_ > 0) {
    ::kill(daemon_, SIGKILL);
    wait_for(daemon_);
    daemon_ = -1;
  }
}

int DaemonRig::stop_daemon() {
  ::kill(daemon_, SIGTERM);
  const int status = wait_for(daemon_);
  daemon_ = -1;
  return status;
}

void DaemonRig::kill_and_restart_box() {
  emulator.kill();
  emulator.start();
  open_terminal();
}

bool DaemonRig::take_samples(std::uint32_t count) {
  auto& control = emulator.control();
  for (std::uint32_t i = 0; i < count; ++i) {
    ++last_number_;
    control.raw_counts[0] = static_cast<std::int16_t>(last_number_ & 0x7fffU);
    control.raw_counts[1] = static_cast<std::int16_t>(last_number_ >> 15U);
    if (!emulator.take_samples(1)) {
      return false;
    }
    numbers_.push_back(last_number_);
  }
  return true;
}

std::map<RecordKey, std::uint32_t> DaemonRig::stored() const {
  const auto opened = required(logger::app::open_job(job(), false));
  const std::string& box = opened.job.boxes.front().id;
  std::map<RecordKey, std::uint32_t> records;
  for (const auto& span : required(opened.store->boots(box))) {
    const auto visited = opened.store->visit_records(
        box, {span.boot, span.first_sequence}, {span.boot, span.last_sequence},
        [&records](const logger::store::Record& record) {
          const RecordKey key{record.id.boot, static_cast<std::uint32_t>(record.id.sequence)};
          records[key] = number_from(record.raw_counts[0], record.raw_counts[1]);
          return true;
        });
    if (!visited) {
      throw std::runtime_error(visited.error().context);
    }
  }
  return records;
}

std::vector<logger::store::Gap> DaemonRig::gaps() const {
  return required(required(logger::app::open_job(job(), false)).store->gaps());
}

void DaemonRig::wait_until_stored(std::uint32_t lost_through) {
  const auto limit = Clock::now() + kHangs;
  for (;;) {
    std::set<std::uint32_t> kept;
    for (const auto& [key, number] : stored()) {
      kept.insert(number);
    }
    const bool all = std::all_of(numbers_.begin(), numbers_.end(), [&](std::uint32_t number) {
      return number <= lost_through || kept.contains(number);
    });
    if (all) {
      return;
    }
    if (Clock::now() > limit) {
      throw std::runtime_error("the store does not get everything: " + daemon_log());
    }
    emulator.let_pass(100);
  }
}

std::string DaemonRig::daemon_log() const { return text_of(folder_ / "daemon.log"); }

}  // namespace target_test
