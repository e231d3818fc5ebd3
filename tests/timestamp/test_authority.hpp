// An authority of one's own for tests: certificates made by openssl in a folder of the run, and a
// server on loopback that stamps with `openssl ts -reply`.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <string>

namespace timestamp_tests {

// Fails the test when the command does not end with status 0. `command` goes through sh.
void run(const std::string& command);
// What it writes; empty lines at the end are kept.
[[nodiscard]] std::string output_of(const std::string& command);
// The status with which it ends; what it says goes into `said`.
int status_of(const std::string& command, std::string& said);

[[nodiscard]] std::string bytes_of(const std::filesystem::path& file);
void write_bytes(const std::filesystem::path& file, const std::string& bytes);

// Made once a program; removed at its end.
class TestAuthority {
 public:
  static const TestAuthority& instance();
  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }
  [[nodiscard]] std::string pem(const std::string& name) const;  // "ca", "other-ca"
  // The reply of openssl to a request, in DER. `signer`: "tsa", "other-tsa", "expired". `section`
  // of its settings: "fine" gives fractions of a second.
  [[nodiscard]] std::string reply_to(const std::string& request_der,
                                     const std::string& signer = "tsa",
                                     const std::string& section = "stamps") const;
  // A token over the content of that reply, changed by `sed` commands on its bytes, signed anew.
  // What openssl ts would refuse to sign can be made so.
  [[nodiscard]] std::string token_signed_by(const std::string& reply_der, const std::string& signer,
                                            const std::string& sed = "",
                                            const std::string& digest = "sha256") const;
  TestAuthority(const TestAuthority&) = delete;
  TestAuthority& operator=(const TestAuthority&) = delete;

 private:
  TestAuthority();
  ~TestAuthority();
  std::filesystem::path folder_;
};

// The server, on a port of its own choice; ends with this.
class TestServer {
 public:
  TestServer();
  ~TestServer();
  TestServer(const TestServer&) = delete;
  TestServer& operator=(const TestServer&) = delete;
  [[nodiscard]] std::string url(const std::string& path) const;

 private:
  pid_t child_ = -1;
  std::string port_;
};

}  // namespace timestamp_tests
