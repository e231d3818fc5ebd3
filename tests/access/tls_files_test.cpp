// The certificate of the page: made, kept, renewed, refused.
#include "logger/app/access/tls_files.hpp"

#include <sys/stat.h>

#include <catch2/catch.hpp>
#include <fstream>

#include "tests/app/scratch_folder.hpp"

using namespace logger::app;
using analysis::base::micros_from_hours;
using logger::store::ErrorCode;
using logger::store::Result;
namespace fs = std::filesystem;

namespace {

constexpr UtcMicros kNow{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z
UtcMicros after_days(double days) { return kNow + micros_from_hours(24 * days); }

JobPage page_for(std::vector<std::string> names) {
  JobPage page;
  page.address = "192.0.2.1";
  page.tls_certificate = "self-made";
  page.tls_names = std::move(names);
  return page;
}

TlsFiles required(const Result<TlsFiles>& files) {
  INFO((files ? "" : files.error().context));
  REQUIRE(files);
  return files.value();
}

// What OpenSSL's own program says of it, so that the code is not its own witness.
std::string openssl_says(const fs::path& certificate, const std::string& wish) {
  const std::string command = "openssl x509 -noout -in " + certificate.string() + " " + wish;
  FILE* pipe = ::popen(command.c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::string text;
  for (int c = std::fgetc(pipe); c != EOF; c = std::fgetc(pipe)) {
    text += static_cast<char>(c);
  }
  ::pclose(pipe);
  return text;
}

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_CASE("A self-made certificate says what browsers ask for") {
  const ScratchFolder scratch;
  const JobFolder folder{scratch.path()};
  const auto files =
      required(tls_files_for(folder, page_for({"site.example", "2001:db8::7", "192.0.2.1"}), kNow));
  CHECK(files.was_made());
  CHECK(files.key == folder.access() / "page.key");
  const std::string text = openssl_says(files.certificate, "-text");
  for (const char* part :
       {"ASN1 OID: prime256v1", "CN = dwellog page", "CA:FALSE", "TLS Web Server Authentication",
        "DNS:site.example, IP Address:2001:DB8:0:0:0:0:0:7, IP Address:192.0.2.1, DNS:localhost",
        "Not Before: Mar  1 07:00:00 2026 GMT", "Not After : Apr  2 07:00:00 2027 GMT"}) {
    INFO(part << "\n" << text);
    CHECK(holds(text, part));
  }
  CHECK(openssl_says(files.certificate, "-fingerprint -sha256") ==
        "sha256 Fingerprint=" + files.fingerprint + "\n");
  struct stat status {};
  REQUIRE(::stat(files.key.c_str(), &status) == 0);
  CHECK((status.st_mode & 0777U) == 0600U);
}

TEST_CASE("A self-made certificate stays until a month before its end, or other names") {
  const ScratchFolder scratch;
  const JobFolder folder{scratch.path()};
  const auto first = required(tls_files_for(folder, page_for({"a.example"}), kNow));
  const auto same = required(tls_files_for(folder, page_for({"a.example"}), after_days(366)));
  CHECK_FALSE(same.was_made());
  CHECK(same.fingerprint == first.fingerprint);
  SECTION("a month is left no more") {
    const auto renewed = required(tls_files_for(folder, page_for({"a.example"}), after_days(367)));
    CHECK(renewed.was_made());
    CHECK(renewed.made_because == "the old one had less than 30 days left");
    CHECK(renewed.expires_at == after_days(367 + 396));
  }
  SECTION("other names") {
    CHECK(required(tls_files_for(folder, page_for({"b.example"}), kNow)).made_because ==
          "the names or the address changed");
  }
  SECTION("a clock that is not set yet changes nothing") {
    CHECK_FALSE(required(tls_files_for(folder, page_for({"a.example"}), UtcMicros{0})).was_made());
  }
  SECTION("stopped between key and certificate") {
    const fs::path kept = scratch.path() / "kept.key";
    fs::copy_file(first.key, kept);
    REQUIRE(required(tls_files_for(folder, page_for({"b.example"}), kNow)).was_made());
    fs::copy_file(kept, first.key, fs::copy_options::overwrite_existing);
    CHECK(required(tls_files_for(folder, page_for({"b.example"}), kNow)).was_made());
  }
}

TEST_CASE("A self-made pair that is damaged or was open to others is never replaced unasked") {
  const ScratchFolder scratch;
  const JobFolder folder{scratch.path()};
  const JobPage page = page_for({});
  CHECK(check_tls_files(folder, page));  // none yet: one will be made
  CHECK_FALSE(fs::exists(folder.access()));
  const auto made = required(tls_files_for(folder, page, kNow));
  CHECK(check_tls_files(folder, page));
  const auto refusal = [&] {
    const auto refused = tls_files_for(folder, page, kNow);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().code == ErrorCode::invalid_input);
    CHECK(check_tls_files(folder, page).error().context == refused.error().context);
    return refused.error().context;
  };
  SECTION("others may read the key") {
    REQUIRE(::chmod(made.key.c_str(), 0640) == 0);
    CHECK(holds(refusal(), "chmod 600 " + made.key.string()));
    REQUIRE(::chmod(made.key.c_str(), 0600) == 0);
    CHECK(required(tls_files_for(folder, page, kNow)).fingerprint == made.fingerprint);
  }
  SECTION("others may list the folder") {
    REQUIRE(::chmod(folder.access().c_str(), 0755) == 0);
    CHECK(holds(refusal(), "chmod 700 " + folder.access().string()));
  }
  SECTION("damaged") {
    const fs::path file = GENERATE_REF(made.certificate, made.key);
    std::ofstream(file, std::ios::trunc) << "nothing of the kind";
    CHECK(refusal().starts_with(file.string() + ": expected a "));
    CHECK(holds(refusal(), "; remove it to have a new pair made"));
    REQUIRE(fs::remove(file));
    CHECK(required(tls_files_for(folder, page, kNow)).made_because ==
          "there was none, or its key was missing");
  }
}

TEST_CASE("Files that job.json names are checked, and never replaced") {
  const ScratchFolder scratch;
  const JobFolder folder{scratch.path()};
  const auto made = required(tls_files_for(folder, page_for({}), kNow));
  JobPage page = page_for({});
  page.tls_certificate = "access/page.crt";
  page.tls_key = "access/page.key";
  CHECK(required(tls_files_for(folder, page, after_days(1000))).fingerprint == made.fingerprint);
  SECTION("others may read the key") {
    REQUIRE(::chmod(made.key.c_str(), 0644) == 0);
    const auto refused = tls_files_for(folder, page, kNow);
    REQUIRE_FALSE(refused);
    CHECK(holds(refused.error().context, "chmod 600"));
  }
  SECTION("they don't fit") {
    fs::copy_file(made.key, scratch.path() / "kept.key");
    const auto other = required(tls_files_for(folder, page_for({"b.example"}), kNow));
    REQUIRE(other.was_made());
    page.tls_key = "kept.key";
    const auto refused = tls_files_for(folder, page, kNow);
    REQUIRE_FALSE(refused);
    CHECK(holds(refused.error().context, "is not the key of the certificate"));
    CHECK(refused.error().context.starts_with("page.tls_certificate, page.tls_key: "));
    CHECK_FALSE(check_tls_files(folder, page));
  }
  SECTION("no certificate") {
    std::ofstream(made.certificate, std::ios::trunc) << "no certificate";
    CHECK(tls_files_for(folder, page, kNow).error().code == ErrorCode::invalid_input);
  }
}
