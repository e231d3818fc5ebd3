#include "tests/timestamp/test_authority.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <catch2/catch.hpp>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>

namespace timestamp_tests {

namespace {

// `errors`: where standard error goes, as sh writes it.
int status_of(const std::string& command, const std::string& errors, std::string& said) {
  said.clear();
  FILE* pipe = ::popen(("{ " + command + "; } " + errors).c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::array<char, 4096> piece{};
  for (std::size_t got = 0; (got = std::fread(piece.data(), 1, piece.size(), pipe)) > 0;) {
    said.append(piece.data(), got);
  }
  const int status = ::pclose(pipe);
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

std::string said_by(const std::string& command, const std::string& errors) {
  std::string said;
  const int status = status_of(command, errors, said);
  INFO(command << "\n" << said);
  REQUIRE(status == 0);
  return said;
}

}  // namespace

int status_of(const std::string& command, std::string& said) {
  return status_of(command, "2>&1", said);
}

std::string output_of(const std::string& command) { return said_by(command, "2>/dev/null"); }

void run(const std::string& command) { static_cast<void>(said_by(command, "2>&1")); }

std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  INFO(file);
  REQUIRE(in);
  return {std::istreambuf_iterator<char>(in), {}};
}

void write_bytes(const std::filesystem::path& file, const std::string& bytes) {
  std::ofstream(file, std::ios::binary) << bytes;
}

TestAuthority::TestAuthority() {
  std::string pattern = (std::filesystem::temp_directory_path() / "dwellog-authority-XXXXXX");
  REQUIRE(::mkdtemp(pattern.data()) != nullptr);
  folder_ = pattern;
  run("bash tests/timestamp/make_authority.sh " + folder_.string());
}

TestAuthority::~TestAuthority() {
  std::error_code error;
  std::filesystem::remove_all(folder_, error);
}

const TestAuthority& TestAuthority::instance() {
  static const TestAuthority authority;
  return authority;
}

std::string TestAuthority::pem(const std::string& name) const {
  return bytes_of(folder_ / (name + ".pem"));
}

std::string TestAuthority::reply_to(const std::string& request_der, const std::string& signer,
                                    const std::string& section) const {
  write_bytes(folder_ / "request.tsq", request_der);
  run("cd " + folder_.string() + " && openssl ts -reply -config authority.cnf -section " + section +
      " -queryfile request.tsq -signer " + signer + ".pem -inkey " + signer +
      ".key -out reply.tsr");
  return bytes_of(folder_ / "reply.tsr");
}

std::string TestAuthority::token_signed_by(const std::string& reply_der, const std::string& signer,
                                           const std::string& sed,
                                           const std::string& digest) const {
  write_bytes(folder_ / "reply.tsr", reply_der);
  run("cd " + folder_.string() +
      " && openssl ts -reply -in reply.tsr -token_out -out token.der"
      " && openssl cms -verify -noverify -inform DER -in token.der -out content.der"
      " && LC_ALL=C sed -i -e '" +
      sed +
      "' content.der"
      " && openssl cms -sign -binary -nodetach -cades -md " +
      digest + " -in content.der -econtent_type 1.2.840.113549.1.9.16.1.4 -signer " + signer +
      ".pem -inkey " + signer + ".key -outform DER -out signed.der");
  return bytes_of(folder_ / "signed.der");
}

TestServer::TestServer() {
  std::array<int, 2> ends{};
  REQUIRE(::pipe(ends.data()) == 0);
  const std::string folder = TestAuthority::instance().folder().string();
  child_ = ::fork();
  REQUIRE(child_ >= 0);
  if (child_ == 0) {
    ::dup2(ends[1], STDOUT_FILENO);
    ::close(ends[0]);
    ::execlp("python3", "python3", "tests/timestamp/authority_server.py", folder.c_str(), nullptr);
    ::_exit(127);
  }
  ::close(ends[1]);
  FILE* in = ::fdopen(ends[0], "r");
  std::array<char, 32> line{};
  const bool ready = std::fgets(line.data(), line.size(), in) != nullptr;
  std::fclose(in);
  REQUIRE(ready);
  port_ = line.data();
  port_.erase(port_.find_last_not_of("\r\n") + 1);
}

TestServer::~TestServer() {
  ::kill(child_, SIGKILL);
  ::waitpid(child_, nullptr, 0);
}

std::string TestServer::url(const std::string& path) const {
  return "http://127.0.0.1:" + port_ + path;
}

}  // namespace timestamp_tests
