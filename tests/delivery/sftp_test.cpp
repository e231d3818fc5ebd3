// SFTP to a private server of OpenSSH. Exit status 77 where there is none.
#include <pwd.h>
#include <sys/stat.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <iostream>

#include "logger/notify/channels/page_upload.hpp"
#include "tests/catch_session.hpp"
#include "tests/delivery/messages.hpp"

using namespace delivery_tests;
using Catch::Contains;

namespace {

constexpr const char* kSshd = "/usr/sbin/sshd";

std::string own_name() { return ::getpwuid(::geteuid())->pw_name; }

// On a port of its own, for the user of this process alone, by key.
class SftpServer {
 public:
  explicit SftpServer(const ServerFolder& folder)
      : port_(free_port()), process_(command(folder, port_), false) {
    REQUIRE(answers(port_, process_));
  }
  [[nodiscard]] std::string url(const std::string& path) const {
    return "sftp://127.0.0.1:" + port_ + path;
  }

 private:
  static std::vector<std::string> command(const ServerFolder& folder, const std::string& port) {
    const std::string in = folder.path() + "/";
    for (const char* name : {"host", "user", "stranger"}) {
      output_of("ssh-keygen -q -t ed25519 -N '' -f " + in + name);
    }
    folder.write("sshd.conf", "ListenAddress 127.0.0.1\nPort " + port + "\nHostKey " + in +
                                  "host\nAuthorizedKeysFile " + in +
                                  "user.pub\nStrictModes no\nUsePAM no\nPidFile none\n"
                                  "PermitRootLogin yes\nPasswordAuthentication no\n"
                                  "Subsystem sftp internal-sftp\nAllowUsers " +
                                  own_name() + "\n");
    return {kSshd, "-D", "-q", "-f", in + "sshd.conf"};
  }
  std::string port_;
  ServerProcess process_;
};

UploadSettings upload(const ServerFolder& folder, const std::string& url) {
  UploadSettings settings;
  settings.url = url;
  settings.user = own_name();
  settings.key_file = folder.file("user");
  settings.host_key_sha256 = output_of("ssh-keygen -l -f " + folder.file("host.pub").string() +
                                       " | sed 's/.*SHA256:\\([^ ]*\\).*/\\1/' | tr -d '\\n'");
  return settings;
}

const UploadedPage kPage{"text/html", std::string(300'000, 'p')};

}  // namespace

TEST_CASE("A page is put over SFTP and put again, with nothing left beside it") {
  const ServerFolder folder;
  const SftpServer server(folder);
  const UploadSettings settings = upload(folder, server.url(folder.path() + "/www.html"));
  REQUIRE(check_upload(settings));
  const auto first = upload_page(settings, {"text/html", "old"}, {});
  INFO((first ? "" : first.error().context));
  REQUIRE(first);
  CHECK(folder.read("www.html") == "old");
  REQUIRE(upload_page(settings, kPage, {}));
  CHECK(folder.read("www.html") == kPage.bytes);
  CHECK_FALSE(fs::exists(folder.file("www.html.part")));
}

TEST_CASE("A server with another key, and a key without right, get nothing and are tried again") {
  const ServerFolder folder;
  const SftpServer server(folder);
  UploadSettings settings = upload(folder, server.url(folder.path() + "/www.html"));
  SECTION("server") {
    settings.host_key_sha256[0] = settings.host_key_sha256[0] == 'A' ? 'B' : 'A';
  }
  SECTION("user") { settings.key_file = folder.file("stranger"); }
  SECTION("folder") { settings.url = server.url(folder.path() + "/not-there/www.html"); }
  const auto done = upload_page(settings, kPage, {});
  REQUIRE_FALSE(done);
  CHECK(done.error().code == ErrorCode::unavailable);
  CHECK_THAT(done.error().context, Contains("status push, sftp://127.0.0.1:"));
  CHECK_FALSE(fs::exists(folder.file("www.html")));
}

TEST_CASE("SFTP settings that can't work are refused") {
  const auto refused = [](auto change) {
    UploadSettings settings;
    settings.url = "sftp://example.org/~/www/status.html";
    settings.user = "site";
    settings.key_file = "key";
    settings.host_key_sha256 = "x";
    CHECK(check_upload(settings));
    change(settings);
    const auto checked = check_upload(settings);
    REQUIRE_FALSE(checked);
    return checked.error().context;
  };
  CHECK_THAT(refused([](auto& s) { s.host_key_sha256 = ""; }), Contains("host_key_sha256"));
  CHECK_THAT(refused([](auto& s) { s.user = ""; }), Contains("user"));
  CHECK_THAT(refused([](auto& s) { s.password = "x"; }), Contains("either a key file"));
  CHECK_THAT(refused([](auto& s) { s.url = "sftp://example.org/a/"; }), Contains("path"));
  CHECK_THAT(refused([](auto& s) { s.url = "sftp://example.org/a\"b"; }), Contains("path"));
}

int main(int argc, char** argv) {
  if (::access(kSshd, X_OK) != 0) {
    std::cout << "no " << kSshd << ": install openssh-server\n";
    return 77;
  }
  if (::geteuid() == 0) {
    ::mkdir("/run/sshd", 0755);  // where it confines itself; a service manager makes it otherwise
  }
  return run_tests(argc, argv);
}
