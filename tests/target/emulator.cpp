#include "tests/target/emulator.hpp"

#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <stdexcept>

#include "firmware-sim/core/modbus_frame.hpp"

namespace target_test {
namespace {

using firmware::target::BoxState;
using firmware::target::ControlBlock;
using Clock = std::chrono::steady_clock;

constexpr std::chrono::seconds kHangs{20};
constexpr int kPollMs = 1;

std::runtime_error failed(const std::string& what) {
  return std::runtime_error("emulator: " + what);
}

// Our end and the end that the emulator inherits.
std::array<int, 2> socket_pair() {
  std::array<int, 2> ends{};
  if (::socketpair(AF_UNIX, SOCK_STREAM, 0, ends.data()) != 0) {
    throw failed("no socket pair");
  }
  ::fcntl(ends[0], F_SETFD, FD_CLOEXEC);
  return ends;
}

void close_one(int& descriptor) {
  if (descriptor >= 0) {
    ::close(descriptor);
    descriptor = -1;
  }
}

std::string socket_device(const std::string& id, int descriptor) {
  return "socket,id=" + id + ",fd=" + std::to_string(descriptor);
}

bool readable_within(int descriptor, std::chrono::milliseconds time) {
  pollfd entry{descriptor, POLLIN, 0};
  return ::poll(&entry, 1, static_cast<int>(time.count())) > 0;
}

}  // namespace

Emulator::Emulator(std::string image, Line line) : image_(std::move(image)), kind_(line) {
  std::string path = "/tmp/dwellog_target_XXXXXX";
  if (::mkdtemp(path.data()) == nullptr) {
    throw failed("no temporary folder");
  }
  folder_ = path;
  const int file = ::open((folder_ + "/memory").c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  void* const mapped = file >= 0 && ::ftruncate(file, firmware::target::kMemoryBytes) == 0
                           ? ::mmap(nullptr, firmware::target::kMemoryBytes, PROT_READ | PROT_WRITE,
                                    MAP_SHARED, file, 0)
                           : MAP_FAILED;
  if (file >= 0) {
    ::close(file);
  }
  if (mapped == MAP_FAILED) {
    throw failed("no memory file");
  }
  memory_ = static_cast<std::uint8_t*>(mapped);
}

Emulator::~Emulator() {
  kill();
  ::munmap(memory_, firmware::target::kMemoryBytes);
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

volatile ControlBlock& Emulator::control() {
  return *reinterpret_cast<volatile ControlBlock*>(memory_ + firmware::target::kControlAt);
}

BoxState Emulator::state() { return static_cast<BoxState>(std::uint32_t{control().state}); }

std::span<const std::uint32_t> Emulator::erase_counts(std::size_t blocks) const {
  return {reinterpret_cast<const std::uint32_t*>(memory_ + firmware::target::kWearAt), blocks};
}

void Emulator::start() {
  kill();
  const std::array<int, 2> first = socket_pair();
  const std::array<int, 2> second = socket_pair();
  const std::array<int, 2> monitor = socket_pair();
  line_ = first[0];
  second_line_ = second[0];
  monitor_ = monitor[0];
  const std::string memory =
      "memory-backend-file,id=nv,size=16M,share=on,mem-path=" + folder_ + "/memory";
  std::vector<std::string> words{
      "qemu-system-arm",
      "-M",
      "mps2-an385,memory-backend=nv",
      "-object",
      memory,
      "-display",
      "none",
      "-chardev",
      kind_ == Line::socket ? socket_device("line", first[1]) : "pty,id=line",
      "-serial",
      "chardev:line",
      "-chardev",
      socket_device("second", second[1]),
      "-serial",
      "chardev:second",
      "-chardev",
      socket_device("monitor", monitor[1]),
      "-mon",
      "chardev=monitor,mode=control",
      "-kernel",
      image_};
  std::vector<char*> arguments;
  for (std::string& word : words) {
    arguments.push_back(word.data());
  }
  arguments.push_back(nullptr);
  const std::uint32_t starts = control().machine_starts + 1;
  control().state = static_cast<std::uint32_t>(BoxState::off);
  process_ = ::fork();
  if (process_ == 0) {
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);  // a test that crashes leaves nothing behind
    const int null = ::open("/dev/null", O_WRONLY);
    ::dup2(null, STDOUT_FILENO);  // the name of a pseudo-terminal
    ::execvp(arguments[0], arguments.data());
    ::_exit(127);
  }
  for (const int theirs : {first[1], second[1], monitor[1]}) {
    ::close(theirs);
  }
  command(R"({"execute":"qmp_capabilities"})");
  wait_for_start(starts);
}

void Emulator::close_lines() {
  close_one(line_);
  close_one(second_line_);
  close_one(monitor_);
  monitor_text_.clear();
}

void Emulator::kill() {
  if (process_ > 0) {
    ::kill(process_, SIGKILL);
    ::waitpid(process_, nullptr, 0);
    process_ = -1;
  }
  close_lines();
}

void Emulator::reset() {
  const std::uint32_t starts = control().machine_starts + 1;
  control().state = static_cast<std::uint32_t>(BoxState::off);
  command(R"({"execute":"system_reset"})");
  wait_for_start(starts);
}

bool Emulator::reset_unless_cut() {
  const std::uint32_t starts = control().machine_starts + 1;
  control().state = static_cast<std::uint32_t>(BoxState::off);
  command(R"({"execute":"system_reset"})");
  wait_until(
      [&] {
        return control().machine_starts >= starts &&
               (state() == BoxState::running || state() == BoxState::power_lost);
      },
      "the box neither runs nor loses its power");
  return state() == BoxState::running;
}

std::vector<std::uint8_t> Emulator::flash_image(std::size_t blocks) const {
  const std::uint8_t* const begin = memory_ + firmware::target::kPartAt;
  const std::uint8_t* const end =
      memory_ + firmware::target::kFlashAt + blocks * firmware::target::kFlashBlockBytes;
  return {begin, end};
}

void Emulator::restore_flash(std::span<const std::uint8_t> image) {
  std::copy(image.begin(), image.end(), memory_ + firmware::target::kPartAt);
}

void Emulator::wait_for_start(std::uint32_t starts) {
  wait_until([&] { return control().machine_starts >= starts && state() == BoxState::running; },
             "the box does not run");
}

bool Emulator::take_samples(std::uint32_t count) {
  const std::uint32_t wanted = control().samples_wanted + count;
  control().samples_wanted = wanted;
  wait_until([&] { return control().samples_taken == wanted || state() == BoxState::power_lost; },
             "samples are not taken");
  return control().samples_taken == wanted;
}

std::string Emulator::terminal() {
  const std::string answer = command(R"({"execute":"query-chardev"})");
  const std::string before = "\"filename\": \"pty:";
  const std::size_t at = answer.find(before);
  if (at == std::string::npos) {
    throw failed("no pseudo-terminal in " + answer);
  }
  const std::size_t begin = at + before.size();
  return answer.substr(begin, answer.find('"', begin) - begin);
}

std::vector<std::uint8_t> Emulator::memory_at(std::uint32_t address, std::uint32_t length) {
  const std::string path = folder_ + "/dump";
  command(R"({"execute":"pmemsave","arguments":{"val":)" + std::to_string(address) +
          ",\"size\":" + std::to_string(length) + ",\"filename\":\"" + path + "\"}}");
  std::ifstream file(path, std::ios::binary);
  std::vector<std::uint8_t> bytes{std::istreambuf_iterator<char>(file), {}};
  if (bytes.size() != length) {
    throw failed("no memory dump");
  }
  return bytes;
}

// The answer to one command; events and the greeting are passed over.
std::string Emulator::command(const std::string& json) {
  const std::string text = json + "\n";
  if (::write(monitor_, text.data(), text.size()) != static_cast<ssize_t>(text.size())) {
    throw failed("the monitor takes no command");
  }
  const auto limit = Clock::now() + kHangs;
  while (Clock::now() < limit) {
    const std::size_t end = monitor_text_.find('\n');
    if (end != std::string::npos) {
      const std::string line = monitor_text_.substr(0, end);
      monitor_text_.erase(0, end + 1);
      if (line.starts_with("{\"return\"")) {
        return line;
      }
      if (line.starts_with("{\"error\"")) {
        throw failed(line);
      }
      continue;
    }
    std::array<char, 4096> buffer{};
    const ssize_t count = readable_within(monitor_, std::chrono::milliseconds(100))
                              ? ::read(monitor_, buffer.data(), buffer.size())
                              : -1;
    if (count == 0) {
      break;
    }
    monitor_text_.append(buffer.data(), count > 0 ? static_cast<std::size_t>(count) : 0);
  }
  throw failed("no answer to " + json);
}

void Emulator::wait_until(const std::function<bool()>& done, const std::string& what) {
  const auto limit = Clock::now() + kHangs;
  while (!done()) {
    if (Clock::now() > limit) {
      throw failed(what);
    }
    ::poll(nullptr, 0, kPollMs);
  }
}

void Emulator::let_pass(std::uint64_t ms) {
  const std::uint32_t begin = control().ticks_ms;
  wait_until([&] { return control().ticks_ms - begin >= ms; }, "its clock stands still");
}

std::vector<std::uint8_t> exchange_on(int descriptor, std::span<const std::uint8_t> frame) {
  if (::write(descriptor, frame.data(), frame.size()) != static_cast<ssize_t>(frame.size())) {
    return {};
  }
  std::vector<std::uint8_t> reply;
  const auto limit = Clock::now() + std::chrono::seconds(5);
  while (Clock::now() < limit) {
    std::array<std::uint8_t, firmware::core::kMaxRtuFrame> bytes{};
    if (readable_within(descriptor, std::chrono::milliseconds(100))) {
      const ssize_t count = ::read(descriptor, bytes.data(), bytes.size());
      if (count <= 0) {
        return {};
      }
      reply.insert(reply.end(), bytes.begin(), bytes.begin() + count);
    }
    const auto expected = firmware::core::expected_reply_length(reply);
    if (expected.kind == firmware::core::ExpectedLength::Kind::known &&
        reply.size() >= expected.bytes) {
      return reply;
    }
  }
  return {};
}

}  // namespace target_test
