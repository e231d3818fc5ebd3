// Delivery by a command against real programs: sh, cat, cmp. Nothing waits for a fixed time.
#include <fcntl.h>
#include <poll.h>
#include <signal.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>

#include "logger/notify/delivery.hpp"

using namespace std::chrono_literals;
using logger::notify::deliver_by_command;
using logger::notify::next_attempt_at;
using logger::notify::UtcMicros;
using logger::store::ErrorCode;

namespace {

class Folder {
 public:
  Folder() {
    std::string path = (std::filesystem::temp_directory_path() / "dwellog-notify-XXXXXX").string();
    REQUIRE(::mkdtemp(path.data()) != nullptr);
    path_ = path;
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() { std::filesystem::remove_all(path_); }
  [[nodiscard]] std::string file(const std::string& name) const { return path_ / name; }

 private:
  std::filesystem::path path_;
};

std::string content_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

std::vector<std::string> shell(const std::string& script) { return {"sh", "-c", script}; }

}  // namespace

TEST_CASE("A program that ends with status 0 has got the message whole") {
  const Folder folder;
  CHECK(deliver_by_command({"sh", "-c", "cat > \"$1\"", "sh", folder.file("message")},
                           "{\"a\":1}\n", 30s));
  CHECK(content_of(folder.file("message")) == "{\"a\":1}\n");
}

TEST_CASE("A message of 1 MiB arrives byte for byte") {
  const Folder folder;
  std::string message(1U << 20U, 'x');
  for (std::size_t i = 0; i < message.size(); i += 7) {
    message[i] = static_cast<char>('a' + i % 26);
  }
  CHECK(
      deliver_by_command({"sh", "-c", "cat > \"$1\"", "sh", folder.file("message")}, message, 30s));
  CHECK(content_of(folder.file("message")) == message);
}

TEST_CASE("Arguments reach the program as they are, without a shell") {
  const Folder folder;
  CHECK(deliver_by_command({"cp", "/dev/stdin", folder.file("a b; $HOME `id` *")}, "{}", 30s));
  CHECK(content_of(folder.file("a b; $HOME `id` *")) == "{}");
}

TEST_CASE("A program that closes its input early succeeds by its status") {
  const std::string message(1U << 20U, 'x');
  CHECK(deliver_by_command(shell("exec 0<&-; exit 0"), message, 30s));
  CHECK(deliver_by_command({"true"}, message, 30s));
  const auto failed = deliver_by_command({"false"}, message, 30s);
  REQUIRE_FALSE(failed);
  CHECK(failed.error().code == ErrorCode::unavailable);
}

TEST_CASE("A failing program is told with its status and the head of what it said") {
  const auto failed = deliver_by_command(
      shell("echo 'no route' >&2; printf '\\033[31mhome\\n' >&2; exit 7"), "{}", 30s);
  REQUIRE_FALSE(failed);
  CHECK(failed.error().code == ErrorCode::unavailable);
  CHECK(failed.error().context == "alert command \"sh\" ended with status 7: no route  [31mhome");
}

TEST_CASE("Of a long complaint 200 bytes are kept and the rest does not block it") {
  const auto failed =
      deliver_by_command(shell("head -c 1000000 /dev/zero | tr '\\0' 'y' >&2; exit 1"), "{}", 30s);
  REQUIRE_FALSE(failed);
  CHECK(failed.error().context ==
        "alert command \"sh\" ended with status 1: " + std::string(200, 'y'));
}

TEST_CASE("A program ended by a signal is told so") {
  const auto failed = deliver_by_command(shell("kill -TERM $$"), "{}", 30s);
  REQUIRE_FALSE(failed);
  CHECK(failed.error().code == ErrorCode::unavailable);
  CHECK(failed.error().context == "alert command \"sh\" was ended by signal 15");
}

TEST_CASE("A missing program, a folder and no program at all are told apart") {
  const Folder folder;
  const auto missing = deliver_by_command({folder.file("nothing")}, "{}", 30s);
  REQUIRE_FALSE(missing);
  CHECK(missing.error().code == ErrorCode::not_found);
  CHECK(missing.error().os_errno == ENOENT);
  const auto not_program = deliver_by_command({folder.file("")}, "{}", 30s);
  REQUIRE_FALSE(not_program);
  CHECK(not_program.error().code == ErrorCode::invalid_input);
  for (const std::vector<std::string>& argv : {std::vector<std::string>{}, {""}}) {
    const auto none = deliver_by_command(argv, "{}", 30s);
    REQUIRE_FALSE(none);
    CHECK(none.error().code == ErrorCode::invalid_input);
  }
}

TEST_CASE("A hanging program is killed with all it started") {
  const Folder folder;
  const std::string fifo = folder.file("fifo");
  REQUIRE(::mkfifo(fifo.c_str(), 0600) == 0);
  const int reader = ::open(fifo.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC);
  REQUIRE(reader >= 0);
  // The child of the child says that it is there and holds the pipe open for ever. A busy machine
  // may need more than the first second to get that far.
  bool was_there = false;
  for (const auto timeout : {1s, 5s, 25s}) {
    const auto hanging = deliver_by_command(
        {"sh", "-c", "(echo up; exec tail -f /dev/null) > \"$1\" & wait", "sh", fifo}, "{}",
        timeout);
    REQUIRE_FALSE(hanging);
    CHECK(hanging.error().code == ErrorCode::timeout);
    CHECK(hanging.error().context == "alert command \"sh\" did not end within " +
                                         std::to_string(timeout.count()) +
                                         " s and was killed with all it started");
    std::array<char, 8> said{};
    was_there = ::read(reader, said.data(), said.size()) > 0;
    if (was_there) {
      break;
    }
  }
  REQUIRE(was_there);
  // The pipe hangs up when its last writer is gone.
  pollfd writers_gone{reader, POLLIN, 0};
  CHECK(::poll(&writers_gone, 1, 30'000) == 1);
  CHECK((writers_gone.revents & POLLHUP) != 0);
  ::close(reader);
}

TEST_CASE("A program that never reads a large message times out too") {
  const std::string message(1U << 20U, 'x');
  const auto hanging = deliver_by_command({"tail", "-f", "/dev/null"}, message, 1s);
  REQUIRE_FALSE(hanging);
  CHECK(hanging.error().code == ErrorCode::timeout);
}

TEST_CASE("A program that leaves a child behind does not hold up the next message") {
  // The child keeps standard error open.
  const Folder folder;
  CHECK(deliver_by_command(
      {"sh", "-c", "tail -f /dev/null & echo $! > \"$1\"", "sh", folder.file("pid")}, "{}", 30s));
  CHECK(::kill(std::stoi(content_of(folder.file("pid"))), SIGKILL) == 0);
}

TEST_CASE("The program inherits no descriptor that was left open") {
  const int leaky =
      ::fcntl(STDERR_FILENO, F_DUPFD, 100);  // without FD_CLOEXEC, a number no shell uses
  REQUIRE(leaky >= 100);
  const std::string path = "/proc/self/fd/" + std::to_string(leaky);
  CHECK(::access(path.c_str(), F_OK) == 0);
  CHECK(deliver_by_command({"test", "!", "-e", path}, "{}", 30s));
  CHECK(deliver_by_command({"test", "-e", "/proc/self/fd/2"}, "{}", 30s));
  ::close(leaky);
}

TEST_CASE("Signals are as they were before and default in the program") {
  ::signal(SIGHUP, SIG_IGN);
  CHECK(deliver_by_command(shell("exec 0<&-"), std::string(1U << 20U, 'x'), 30s));
  sigset_t mask;
  sigset_t pending;
  ::pthread_sigmask(SIG_SETMASK, nullptr, &mask);
  ::sigpending(&pending);
  CHECK(sigismember(&mask, SIGPIPE) == 0);
  CHECK(sigismember(&pending, SIGPIPE) == 0);
  const auto ended = deliver_by_command(shell("kill -HUP $$"), "{}", 30s);
  ::signal(SIGHUP, SIG_DFL);
  REQUIRE_FALSE(ended);
  CHECK(ended.error().context == "alert command \"sh\" was ended by signal 1");
}

TEST_CASE("Retries come after 10 s, doubled up to an hour, for ever") {
  const UtcMicros now{1'772'352'000'000'000};
  const std::vector<std::int64_t> seconds = {10, 20, 40, 80, 160, 320, 640, 1280, 2560, 3600, 3600};
  for (std::size_t i = 0; i < seconds.size(); ++i) {
    CHECK(next_attempt_at(static_cast<int>(i) + 1, now) - now == std::chrono::seconds(seconds[i]));
  }
  CHECK(next_attempt_at(1'000'000, now) - now == 1h);
  CHECK(logger::notify::next_attempt_after_refusal(1, now) - now == 1h);
  CHECK(logger::notify::next_attempt_after_refusal(11, now) - now == 1h);
  CHECK(logger::notify::next_attempt_after_refusal(12, now) - now == 24h);
  CHECK(next_attempt_at(std::numeric_limits<int>::max(), now) - now == 1h);
}
