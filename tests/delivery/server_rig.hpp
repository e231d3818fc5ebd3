// Real servers on loopback for the tests of delivery: started in a folder of their own, ended by
// their ids.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <string>
#include <vector>

namespace delivery_tests {

namespace fs = std::filesystem;

// A copy of certificates made once a program, a password, and what a server keeps.
class ServerFolder {
 public:
  ServerFolder();
  ~ServerFolder();
  ServerFolder(const ServerFolder&) = delete;
  ServerFolder& operator=(const ServerFolder&) = delete;
  [[nodiscard]] fs::path file(const std::string& name) const { return path_ / name; }
  [[nodiscard]] std::string path() const { return path_.string(); }
  void write(const std::string& name, const std::string& bytes) const;
  [[nodiscard]] std::string read(const std::string& name) const;  // empty when it is not there
  void behave(const std::string& words) const { write("behaviour", words); }

 private:
  fs::path path_;
};

inline const std::string kPassword = "open-sesame-4711";  // invented

// Fails the test when it does not end with status 0. Gives its standard output.
std::string output_of(const std::string& command);

// A program until this goes out of scope.
class ServerProcess {
 public:
  // `says_port`: its first line is the port that it chose.
  ServerProcess(std::vector<std::string> argv, bool says_port);
  ~ServerProcess();
  ServerProcess(const ServerProcess&) = delete;
  ServerProcess& operator=(const ServerProcess&) = delete;
  [[nodiscard]] std::string port() const { return port_; }
  [[nodiscard]] pid_t id() const { return child_; }

 private:
  pid_t child_ = -1;
  std::string port_;
};

// A port that was free a moment ago.
[[nodiscard]] std::string free_port();
// Tries to connect until it is taken, for 20 s at most; false when it never was or the server
// ended.
[[nodiscard]] bool answers(const std::string& port, const ServerProcess& server);

class MailServer {
 public:
  MailServer(const ServerFolder& folder, const std::string& mode,
             const std::string& certificate = "server")
      : process_(
            {"/usr/bin/python3", "tests/delivery/mail_server.py", folder.path(), mode, certificate},
            true) {}
  [[nodiscard]] std::string url(const std::string& scheme) const {
    return scheme + "://127.0.0.1:" + process_.port();
  }

 private:
  ServerProcess process_;
};

class WebServer {
 public:
  explicit WebServer(const ServerFolder& folder, const std::string& certificate = "server")
      : scheme_(certificate == "-" ? "http" : "https"),
        process_({"/usr/bin/python3", "tests/delivery/web_server.py", folder.path(), certificate},
                 true) {}
  [[nodiscard]] std::string url(const std::string& path) const {
    return scheme_ + "://127.0.0.1:" + process_.port() + path;
  }

 private:
  std::string scheme_;
  ServerProcess process_;
};

// mosquitto with TLS and a password, retaining nothing over its end.
class MqttServer {
 public:
  // `port` of an earlier one, to be there again.
  explicit MqttServer(const ServerFolder& folder, const std::string& certificate = "server",
                      const std::string& port = free_port());
  [[nodiscard]] int port() const { return std::stoi(port_); }

 private:
  std::string port_;
  ServerProcess process_;
};

}  // namespace delivery_tests
