// The real daemon, in real time, reads transmitters that stand on an independent Modbus library:
// over a serial line and through a networked adapter, at mixed rates and beside a dead one. Nothing
// is asserted of time; limits only turn a hang into a failure.
#include <arpa/inet.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <functional>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

extern char** environ;

namespace {

std::string text_of(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  return text.str();
}

std::size_t count_of(const std::string& text, const std::string& part) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) {
    ++count;
  }
  return count;
}

// A program whose output goes to a file, and whose standard input closes with it.
class Process {
 public:
  Process(const std::vector<std::string>& arguments, std::filesystem::path log)
      : log_(std::move(log)) {
    std::array<int, 2> input{};
    REQUIRE(::pipe2(input.data(), O_CLOEXEC) == 0);
    std::vector<char*> argv;
    for (const std::string& argument : arguments) {
      argv.push_back(const_cast<char*>(argument.c_str()));
    }
    argv.push_back(nullptr);
    posix_spawn_file_actions_t actions;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, input[0], 0);
    posix_spawn_file_actions_addopen(&actions, 1, log_.c_str(), O_WRONLY | O_CREAT | O_APPEND,
                                     0644);
    posix_spawn_file_actions_adddup2(&actions, 1, 2);
    REQUIRE(::posix_spawnp(&process_, argv[0], &actions, nullptr, argv.data(), environ) == 0);
    posix_spawn_file_actions_destroy(&actions);
    ::close(input[0]);
    input_ = input[1];
  }
  Process(const Process&) = delete;
  Process& operator=(const Process&) = delete;
  ~Process() {
    ::close(input_);
    end(SIGKILL);
  }
  // Its exit status.
  int end(int signal) {
    if (process_ > 0) {
      ::kill(process_, signal);
      wait();
    }
    return status_;
  }
  int wait() {
    int wait_status = 0;
    ::waitpid(process_, &wait_status, 0);
    process_ = -1;
    status_ = WIFEXITED(wait_status) ? WEXITSTATUS(wait_status) : 128 + WTERMSIG(wait_status);
    return status_;
  }
  [[nodiscard]] std::string output() const { return text_of(log_); }
  void wait_for(const std::function<bool(const std::string&)>& reached) const {
    for (int i = 0; i < 600; ++i) {
      if (reached(output())) {
        return;
      }
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
    }
    FAIL("nothing came within a minute; " << output());
  }

 private:
  std::filesystem::path log_;
  pid_t process_ = -1;
  int input_ = -1;
  int status_ = -1;
};

struct Bench {
  Bench() {
    std::string name = (std::filesystem::temp_directory_path() / "dwellog-XXXXXX").string();
    REQUIRE(::mkdtemp(name.data()) != nullptr);
    folder = name;
    REQUIRE(run({"new", job()}).first == 0);
  }
  ~Bench() {
    std::error_code ignored;
    std::filesystem::remove_all(folder, ignored);
  }
  [[nodiscard]] std::string job() const { return (folder / "job").string(); }
  std::pair<int, std::string> run(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), DWELLOG_PROGRAM);
    Process process(arguments, folder / ("log" + std::to_string(++runs)));
    const int status = process.wait();
    return {status, process.output()};
  }
  // The job with these boxes in place of the probe box.
  void write_job(const std::string& boxes) {
    const std::string head = R"({"format": "dwellog-job/1",
  "job": {"name": "Peers, invented", "site_address": "Invented", "installer": "A. Sample"},
  "collect_every_seconds": 5,
  "rooms": [{"id": "hall", "name": "Hall", "floor_area_m2": 12, "floor_product": "Laminate",
             "requirements": {"slab": null}}],
  "boxes": [)";
    std::ofstream(folder / "job/job.json", std::ios::trunc) << head << boxes << "]}";
    const auto checked = run({"check", job()});
    INFO(checked.second);
    REQUIRE(checked.first == 0);
  }
  // The daemon until `reached` of what the device printed.
  void collect_until(const Process& device,
                     const std::function<bool(const std::string&)>& reached) {
    Process daemon({DWELLOG_PROGRAM, "run", job()}, folder / "daemon.log");
    device.wait_for(reached);
    INFO(daemon.output());
    CHECK(daemon.end(SIGTERM) == 0);
    daemon_log = daemon.output();
  }
  // Rows of the export of one box, without the heading.
  std::vector<std::string> rows(const std::string& box) {
    const auto exported = run({"export", job(), "--box", box});
    INFO(exported.second);
    REQUIRE(exported.first == 0);
    std::istringstream lines(exported.second);
    std::vector<std::string> found;
    for (std::string line; std::getline(lines, line);) {
      found.push_back(line);
    }
    found.erase(found.begin());
    return found;
  }

  std::filesystem::path folder;
  std::string daemon_log;
  int runs = 0;
};

int free_port() {
  const int probe = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in at{};
  at.sin_family = AF_INET;
  at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  socklen_t size = sizeof at;
  REQUIRE(::bind(probe, reinterpret_cast<sockaddr*>(&at), size) == 0);
  REQUIRE(::getsockname(probe, reinterpret_cast<sockaddr*>(&at), &size) == 0);
  ::close(probe);
  return ntohs(at.sin_port);
}

bool is_ready(const std::string& output) { return output.find("ready") != std::string::npos; }

// Temperature and humidity as tenths, in input registers 1 and 0.
std::string air_channels(const std::string& name, const std::string& room_roles) {
  const bool room = room_roles == "room";
  const std::string place =
      room ? R"(, "room": "hall", "role": "room_air_)" : R"(, "role": "outdoor_)";
  return R"("channels": [{"index": 0, "id": ")" + name + R"(-t")" + place + R"(temperature",
      "register": {"function": 4, "address": 1, "type": "i16", "unit": "celsius", "scale": 0.1}},
     {"index": 1, "id": ")" +
         name + R"(-rh")" + place + R"(rh",
      "register": {"function": 4, "address": 0, "type": "u16", "unit": "percent_rh", "scale": 0.1}}])";
}

}  // namespace

TEST_CASE("ATransmitterOnASerialLineIsReadThroughItsRegisterMap") {
  Bench bench;
  const std::string ours = (bench.folder / "ours").string();
  const std::string theirs = (bench.folder / "theirs").string();
  const Process cable({"socat", "pty,raw,echo=0,link=" + ours, "pty,raw,echo=0,link=" + theirs},
                      bench.folder / "cable.log");
  cable.wait_for([&](const std::string&) {
    return std::filesystem::exists(ours) && std::filesystem::exists(theirs);
  });
  Process device({MODBUS_DEVICE, "rtu", theirs, "7"}, bench.folder / "device.log");
  device.wait_for(is_ready);
  bench.write_job(R"({"id": "tx", "port": ")" + ours + R"(", "unit": 7, "baud": 9600,
    "parity": "even", "sample_interval_seconds": 1,
    "registers": {"identity": {"function": 3, "address": 100, "type": "u16", "raw": 4711}}, )" +
                  air_channels("air", "room") + "}");
  // Each poll reads the number and then both values.
  bench.collect_until(device,
                      [](const std::string& output) { return count_of(output, "unit 7") >= 8; });
  const auto rows = bench.rows("tx");
  REQUIRE(rows.size() >= 4);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    INFO(rows[i]);
    CHECK(rows[i].find(",tx,1," + std::to_string(i + 1) + ",") != std::string::npos);
    CHECK(rows[i].find(",-200,-20.000,good,487,48.700,good") != std::string::npos);
  }
  // The next run is another session of the same transmitter.
  bench.collect_until(device,
                      [](const std::string& output) { return count_of(output, "unit 7") >= 16; });
  CHECK(bench.rows("tx").back().find(",tx,2,") != std::string::npos);
}

TEST_CASE("AnotherTransmitterThanTheOneNamedIsNotBelieved") {
  Bench bench;
  const int port = free_port();
  Process device({MODBUS_DEVICE, "tcp", std::to_string(port)}, bench.folder / "device.log");
  device.wait_for(is_ready);
  bench.write_job(R"({"id": "tx", "host": "127.0.0.1", "tcp_port": )" + std::to_string(port) +
                  R"(, "unit": 1, "sample_interval_seconds": 1,
    "registers": {"identity": {"function": 3, "address": 100, "type": "u16", "raw": 4712}}, )" +
                  air_channels("air", "room") + "}");
  bench.collect_until(device,
                      [](const std::string& output) { return count_of(output, "unit 1") >= 2; });
  CHECK(bench.daemon_log.find("its identity register holds 4711, expected 4712") !=
        std::string::npos);
  CHECK(bench.rows("tx").empty());
}

TEST_CASE("OneDeadTransmitterKeepsNobodyWaitingAndRatesMayDiffer") {
  Bench bench;
  const int port = free_port();
  Process device({MODBUS_DEVICE, "tcp", std::to_string(port)}, bench.folder / "device.log");
  device.wait_for(is_ready);
  const auto box = [&](const std::string& id, int unit, int interval_s,
                       const std::string& channels) {
    return R"({"id": ")" + id + R"(", "host": "127.0.0.1", "tcp_port": )" + std::to_string(port) +
           R"(, "unit": )" + std::to_string(unit) + R"(, "sample_interval_seconds": )" +
           std::to_string(interval_s) + R"(, "registers": {"answer_within_milliseconds": 100}, )" +
           channels + "}";
  };
  bench.write_job(box("dead", 9, 1, air_channels("dead", "out")) + "," +
                  box("fast", 1, 1, air_channels("fast", "room")) + "," +
                  box("slow", 2, 3,
                      R"("channels": [{"index": 2, "id": "slow-t", "role": "outdoor_temperature",
             "register": {"function": 3, "address": 10, "type": "f32", "word_order": "low_first",
                          "unit": "celsius"}}])") +
                  "," + box("refusing", 4, 2, air_channels("refusing", "out")));
  bench.collect_until(device, [](const std::string& output) {
    return count_of(output, "unit 1\n") >= 9 && count_of(output, "unit 2\n") >= 3 &&
           count_of(output, "unit 9\n") >= 5;
  });
  const auto fast = bench.rows("fast");
  const auto slow = bench.rows("slow");
  CHECK(bench.rows("dead").empty());
  CHECK(fast.size() >= 8);
  CHECK(slow.size() >= 2);
  CHECK(fast.size() > slow.size());
  for (const std::string& row : slow) {
    CHECK(row.find(",21500,21.500,good") != std::string::npos);
  }
  // A device that answers, but not with its values, is there and gives none.
  const auto refusing = bench.rows("refusing");
  REQUIRE_FALSE(refusing.empty());
  CHECK(refusing[0].find(",no_answer") != std::string::npos);
  CHECK(count_of(bench.daemon_log, "dead: link_down") == 1);
  CHECK(bench.daemon_log.find("unit 9 on 127.0.0.1:" + std::to_string(port)) != std::string::npos);
}
