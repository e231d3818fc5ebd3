#include "tests/delivery/server_rig.hpp"

#include <arpa/inet.h>
#include <fcntl.h>
#include <signal.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <catch2/catch.hpp>
#include <chrono>
#include <cstdio>
#include <fstream>
#include <iterator>
#include <thread>

namespace delivery_tests {

namespace {

fs::path new_folder() {
  std::string pattern = (fs::temp_directory_path() / "dwellog-delivery-XXXXXX");
  REQUIRE(::mkdtemp(pattern.data()) != nullptr);
  return pattern;
}

struct Certificates {
  Certificates() { output_of("bash tests/delivery/make_certificates.sh " + path.string()); }
  ~Certificates() {
    std::error_code error;
    fs::remove_all(path, error);
  }
  fs::path path = new_folder();
};

sockaddr_in loopback(int port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  return address;
}

// Of another library's type, as the calls want it.
sockaddr* as_general(sockaddr_in& address) { return reinterpret_cast<sockaddr*>(&address); }

std::vector<std::string> mosquitto_command(const ServerFolder& folder,
                                           const std::string& certificate,
                                           const std::string& port) {
  const std::string in = folder.path() + "/";
  output_of("mosquitto_passwd -b -c " + in + "mqtt-users site " + kPassword);
  folder.write("mosquitto.conf", "listener " + port + " 127.0.0.1\nallow_anonymous false\n" +
                                     "password_file " + in + "mqtt-users\ncertfile " + in +
                                     certificate + ".pem\nkeyfile " + in + certificate +
                                     ".key\nuser root\nset_tcp_nodelay true\nlog_type error\n" +
                                     "acl_file " + in + "mqtt-rights\nmax_packet_size 2000000\n");
  folder.write("mqtt-rights", "user site\ntopic readwrite site/#\n");
  return {"/usr/sbin/mosquitto", "-c", in + "mosquitto.conf"};
}

}  // namespace

ServerFolder::ServerFolder() : path_(new_folder()) {
  static const Certificates certificates;
  fs::copy(certificates.path, path_);
  write("password", kPassword);
}

ServerFolder::~ServerFolder() {
  std::error_code error;
  fs::remove_all(path_, error);
}

void ServerFolder::write(const std::string& name, const std::string& bytes) const {
  std::ofstream(file(name), std::ios::binary) << bytes;
}

std::string ServerFolder::read(const std::string& name) const {
  std::ifstream in(file(name), std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::string output_of(const std::string& command) {
  FILE* pipe = ::popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::string said;
  std::array<char, 4096> piece{};
  for (std::size_t got = 0; (got = std::fread(piece.data(), 1, piece.size(), pipe)) > 0;) {
    said.append(piece.data(), got);
  }
  const int status = ::pclose(pipe);
  INFO(command << "\n" << said);
  REQUIRE(WIFEXITED(status));
  REQUIRE(WEXITSTATUS(status) == 0);
  return said;
}

ServerProcess::ServerProcess(std::vector<std::string> argv, bool says_port) {
  std::array<int, 2> ends{};
  REQUIRE(::pipe(ends.data()) == 0);
  child_ = ::fork();
  REQUIRE(child_ >= 0);
  if (child_ == 0) {
    ::dup2(ends[1], STDOUT_FILENO);
    ::dup2(::open("/dev/null", O_WRONLY), STDERR_FILENO);  // they complain of what tests do to them
    ::close(ends[0]);
    ::close(ends[1]);
    std::vector<char*> arguments;
    for (std::string& argument : argv) {
      arguments.push_back(argument.data());
    }
    arguments.push_back(nullptr);
    ::execv(arguments[0], arguments.data());
    ::_exit(127);
  }
  ::close(ends[1]);
  FILE* in = ::fdopen(ends[0], "r");
  std::array<char, 32> line{};
  const bool ready = !says_port || std::fgets(line.data(), line.size(), in) != nullptr;
  std::fclose(in);
  INFO(argv[0] << " did not start; its packages are in .ci/packages.sh");
  REQUIRE(ready);
  port_ = line.data();
  port_.erase(port_.find_last_not_of("\r\n") + 1);
}

ServerProcess::~ServerProcess() {
  ::kill(child_, SIGKILL);
  ::waitpid(child_, nullptr, 0);
}

std::string free_port() {
  const int socket = ::socket(AF_INET, SOCK_STREAM, 0);
  sockaddr_in address = loopback(0);
  socklen_t size = sizeof address;
  REQUIRE(::bind(socket, as_general(address), sizeof address) == 0);
  REQUIRE(::getsockname(socket, as_general(address), &size) == 0);
  ::close(socket);
  return std::to_string(ntohs(address.sin_port));
}

bool answers(const std::string& port, const ServerProcess& server) {
  for (int attempt = 0; attempt < 2000; ++attempt) {
    const int socket = ::socket(AF_INET, SOCK_STREAM, 0);
    sockaddr_in address = loopback(std::stoi(port));
    const bool taken = ::connect(socket, as_general(address), sizeof address) == 0;
    ::close(socket);
    siginfo_t ended{};
    ::waitid(P_PID, static_cast<id_t>(server.id()), &ended, WEXITED | WNOHANG | WNOWAIT);
    if (taken || ended.si_pid != 0) {
      return taken;
    }
    std::this_thread::sleep_for(
        std::chrono::milliseconds(10));  // of another process, no clock ours
  }
  return false;
}

MqttServer::MqttServer(const ServerFolder& folder, const std::string& certificate,
                       const std::string& port)
    : port_(port), process_(mosquitto_command(folder, certificate, port), false) {
  REQUIRE(answers(port_, process_));
}

}  // namespace delivery_tests
