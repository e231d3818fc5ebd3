// `dwellog keys`: hand-overs that a verifier can follow, keys under a passphrase, lost keys, and
// what is left when a change of keys is stopped midway.
#include <sys/stat.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "analysis/evidence/handover.hpp"
#include "analysis/evidence/sealed_secret.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/keys/key_rotation.hpp"
#include "logger/verify/verify_files.hpp"
#include "tests/app/scratch_folder.hpp"
#include "tests/evidence/example_site.hpp"

using namespace logger::app;
using analysis::base::UtcMicros;
namespace fs = std::filesystem;

namespace {

constexpr UtcMicros kFarAhead{4'070'908'800'000'000};  // 2099-01-01: after any hand-over made here

std::string text_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

void write(const fs::path& file, const std::string& text, mode_t mode = 0600) {
  std::ofstream(file, std::ios::binary | std::ios::trunc) << text;
  ::chmod(file.c_str(), mode);
}

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

struct Said {
  int status = -1;
  std::string out;
  std::string err;
};

class KeyedJob {
 public:
  KeyedJob() {
    std::ostringstream out, err;
    NewOptions options;
    options.job_dir = dir();
    REQUIRE(new_job(options, {out, err}) == kExitDone);
    write(passphrase(), "open sesame\n");
  }
  [[nodiscard]] fs::path dir() const { return scratch_.path() / "job"; }
  [[nodiscard]] JobFolder folder() const { return {dir()}; }
  [[nodiscard]] fs::path passphrase() const { return scratch_.path() / "passphrase"; }
  [[nodiscard]] fs::path kept(const std::string& name) const { return dir() / "keys" / name; }

  [[nodiscard]] Said keys(const std::string& action, bool lost = false,
                          const fs::path& passphrase_file = {}) const {
    KeysOptions options{dir(), action, false, lost, passphrase_file};
    std::ostringstream out, err;
    const int status = logger::app::keys(options, {out, err});
    return {status, out.str(), err.str()};
  }
  [[nodiscard]] int check() const {
    std::ostringstream out, err;
    return check_job(dir(), {out, err});
  }
  // A certificate of the made-up room, signed with the job's present key.
  [[nodiscard]] fs::path certificate(const std::string& name, UtcMicros issued_at) const {
    const fs::path file = scratch_.path() / name;
    auto facts = example::issue(example::declared(3), example::readings(3)).facts;
    facts.issued_at = issued_at;
    const auto opened = open_signing_key(folder(), passphrase_source(passphrase()));
    REQUIRE(opened.has_value());
    write(file, analysis::certificate::issue_certificate(facts, opened.value().key).value());
    return file;
  }

 private:
  ScratchFolder scratch_;
};

Said verify(const fs::path& certificate, const fs::path& key,
            const std::vector<fs::path>& handovers) {
  std::ostringstream out, err;
  const int status =
      logger::verify::verify_files({certificate, key, handovers, {}}, {"dwellog", out, err});
  return {status, out.str(), err.str()};
}

void check_refused(const Said& said, const std::string& part) {
  INFO(said.err);
  CHECK(said.status == kExitInput);
  CHECK(said.out.empty());
  CHECK(std::ranges::count(said.err, '\n') == 1);
  CHECK(holds(said.err, part));
}

}  // namespace

TEST_CASE("WhoHoldsTheFirstKeyFollowsTheHandoversToTheKeyThatSigned") {
  const KeyedJob job;
  const fs::path first_certificate =
      job.certificate("first.json", example::kStart + std::chrono::hours(4));
  REQUIRE(job.keys("rotate").status == kExitDone);
  const fs::path second_certificate = job.certificate("second.json", kFarAhead);
  const Said second = job.keys("rotate");
  REQUIRE(second.status == kExitDone);
  CHECK(holds(second.out, "hand-over        " + job.kept("handover-2.json").string()));
  const fs::path third_certificate = job.certificate("third.json", kFarAhead);
  const fs::path first_key = job.kept("certificate-key-1.pub");
  const fs::path one = job.kept("handover-1.json");
  const fs::path two = job.kept("handover-2.json");

  const Said proved = verify(third_certificate, first_key, {one, two});
  INFO(proved.out);
  CHECK(proved.status == kExitDone);
  CHECK(holds(proved.out, "proved: hand-over 1 of "));
  CHECK(holds(proved.out, "leads to that key through 2 hand-over(s)"));
  CHECK(verify(third_certificate, job.kept("certificate-key-2.pub"), {two}).status == kExitDone);
  CHECK(verify(third_certificate, job.folder().public_key(), {}).status == kExitDone);
  CHECK(verify(first_certificate, first_key, {}).status == kExitDone);
  CHECK(verify(first_certificate, first_key, {one, two}).status == kExitDone);
  CHECK(job.check() == kExitDone);
  const Said shown = job.keys("show");
  CHECK(holds(shown.out, one.string()));

  for (const auto& wrong : {std::vector{one}, std::vector{two}, std::vector{two, one}}) {
    const Said refused = verify(third_certificate, first_key, wrong);
    CHECK(refused.status == kExitNot);
    CHECK(holds(refused.out, "FAILED: "));
  }
  CHECK(verify(third_certificate, {}, {one, two}).status == kExitCannotTell);
  CHECK(verify(third_certificate, first_key, {job.kept("none.json")}).status == kExitInput);

  const Said late = verify(second_certificate, first_key, {one, two});
  CHECK(late.status == kExitNot);
  CHECK(holds(late.out, "after its key was handed over"));
  const fs::path early = job.certificate("early.json", example::kStart + std::chrono::hours(4));
  CHECK(holds(verify(early, first_key, {one, two}).out, "before its key took over"));
}

TEST_CASE("AProtectedKeyNeedsItsPassphraseToSignAndForNothingElse") {
  const KeyedJob job;
  const std::string bare = text_of(job.folder().secret_key());
  REQUIRE(job.keys("protect", false, job.passphrase()).status == kExitDone);
  const std::string sealed = text_of(job.folder().secret_key());
  CHECK(analysis::evidence::is_sealed_secret(sealed));
  CHECK((fs::status(job.folder().secret_key()).permissions() & fs::perms::all) ==
        (fs::perms::owner_read | fs::perms::owner_write));
  CHECK(job.check() == kExitDone);
  CHECK(holds(job.keys("show").out, "protected by a passphrase"));
  check_refused(job.keys("protect", false, job.passphrase()), "is protected already");

  const fs::path wrong = job.dir() / "wrong";
  write(wrong, "open barley\n");
  check_refused(job.keys("rotate", false, wrong), "wrong passphrase");
  check_refused(job.keys("unprotect", false, wrong), "wrong passphrase");
  CHECK(text_of(job.folder().secret_key()) == sealed);
  CHECK_FALSE(fs::exists(job.kept("handover-1.json")));

  REQUIRE(job.keys("unprotect", false, job.passphrase()).status == kExitDone);
  CHECK(text_of(job.folder().secret_key()) == bare);
  check_refused(job.keys("unprotect", false, job.passphrase()), "is not protected");
}

TEST_CASE("ARotatedKeyStaysUnderItsPassphrase") {
  const KeyedJob job;
  REQUIRE(job.keys("protect", false, job.passphrase()).status == kExitDone);
  const Said rotated = job.keys("rotate", false, job.passphrase());
  REQUIRE(rotated.status == kExitDone);
  CHECK(holds(rotated.out, "under the same passphrase"));
  CHECK(analysis::evidence::is_sealed_secret(text_of(job.folder().secret_key())));
  const fs::path certificate = job.certificate("c.json", kFarAhead);
  CHECK(verify(certificate, job.kept("certificate-key-1.pub"), {job.kept("handover-1.json")})
            .status == kExitDone);
}

TEST_CASE("APassphraseFileIsItsOwnersAloneAndHoldsOneLine") {
  const KeyedJob job;
  write(job.passphrase(), "open sesame\n", 0640);
  check_refused(job.keys("protect", false, job.passphrase()), "chmod 600");
  for (const char* text : {"", "\n", "two\nlines\n"}) {
    write(job.passphrase(), text);
    check_refused(job.keys("protect", false, job.passphrase()), "expected one line");
  }
  check_refused(job.keys("protect", false, job.dir() / "none"), "No such file");
  CHECK_FALSE(analysis::evidence::is_sealed_secret(text_of(job.folder().secret_key())));
}

TEST_CASE("ALostKeyIsReplacedAndNothingJoinsTheTwo") {
  const KeyedJob job;
  const fs::path before = job.certificate("before.json", kFarAhead);
  check_refused(job.keys("rotate", true), "is there and good");
  fs::remove(job.folder().secret_key());
  check_refused(job.keys("rotate"), "No such file");
  const Said lost = job.keys("rotate", true);
  REQUIRE(lost.status == kExitDone);
  CHECK(holds(lost.out, "Nothing joins the new key to the older one."));
  CHECK_FALSE(fs::exists(job.kept("handover-1.json")));
  CHECK(job.check() == kExitDone);
  const fs::path after = job.certificate("after.json", kFarAhead);
  const fs::path first_key = job.kept("certificate-key-1.pub");
  CHECK(verify(before, first_key, {}).status == kExitDone);
  CHECK(verify(after, first_key, {}).status == kExitNot);
  REQUIRE(job.keys("rotate").status == kExitDone);
  CHECK(fs::exists(job.kept("handover-2.json")));
}

TEST_CASE("AForgottenPassphraseLeavesTheProtectedKeyBesideTheOlderOnes") {
  const KeyedJob job;
  REQUIRE(job.keys("protect", false, job.passphrase()).status == kExitDone);
  const std::string sealed = text_of(job.folder().secret_key());
  REQUIRE(job.keys("rotate", true).status == kExitDone);
  CHECK(text_of(job.kept("certificate-key-1.secret")) == sealed);
  CHECK(job.check() == kExitDone);
}

TEST_CASE("ARotationStoppedAnywhereIsBroughtToItsEnd") {
  const KeyedJob job;
  const JobFolder folder = job.folder();
  const std::string old_secret = text_of(folder.secret_key());
  const std::string old_public = text_of(folder.public_key());
  REQUIRE(job.keys("rotate").status == kExitDone);
  const std::string new_secret = text_of(folder.secret_key());
  const std::string new_public = text_of(folder.public_key());
  const std::string handover = text_of(job.kept("handover-1.json"));
  const fs::path pending = folder.secret_key().string() + ".new";

  SECTION("before the statement: begun anew") {
    for (const bool archived : {false, true}) {
      write(folder.secret_key(), old_secret);
      write(folder.public_key(), old_public);
      fs::remove_all(job.dir() / "keys");
      write(pending, new_secret);
      if (archived) {
        fs::create_directory(job.dir() / "keys");
        write(job.kept("certificate-key-1.pub"), old_public);
      }
      CHECK(job.check() == kExitDone);
      const Said said = job.keys("rotate");
      REQUIRE(said.status == kExitDone);
      CHECK_FALSE(holds(said.out, "interrupted"));
      CHECK(text_of(folder.public_key()) != new_public);
      CHECK_FALSE(fs::exists(pending));
    }
  }
  SECTION("after the statement: the old key still signs, and the end is made up for") {
    write(folder.secret_key(), old_secret);
    write(folder.public_key(), old_public);
    write(pending, new_secret);
    CHECK(job.check() == kExitDone);
    CHECK(holds(job.keys("rotate").out, "brought to its end"));
  }
  SECTION("before the public key was written") {
    write(folder.public_key(), old_public);
    CHECK(job.check() == kExitInput);
    CHECK(holds(job.keys("rotate").out, "brought to its end"));
  }
  CHECK(job.check() == kExitDone);
  const auto step = analysis::evidence::handover_from_text(text_of(job.kept("handover-1.json")));
  REQUIRE(step.has_value());
  CHECK(text_of(folder.public_key()) == text_from_public_key(step.value().new_key));
}

TEST_CASE("AKeyThatWasHandedOverIsNotHandedOverTwice") {
  const KeyedJob job;
  const std::string old_secret = text_of(job.folder().secret_key());
  const std::string old_public = text_of(job.folder().public_key());
  REQUIRE(job.keys("rotate").status == kExitDone);
  const std::string handover = text_of(job.kept("handover-1.json"));
  write(job.folder().secret_key(), old_secret);
  write(job.folder().public_key(), old_public);
  check_refused(job.keys("rotate"), "whose secret is not here");
  CHECK(text_of(job.kept("handover-1.json")) == handover);
}

TEST_CASE("FlagsOfAnotherActionAreRefused") {
  const KeyedJob job;
  check_refused(job.keys("show", true), "only rotate has it");
  std::ostringstream out, err;
  CHECK(keys({job.dir(), "rotate", true, false, {}}, {out, err}) == kExitInput);
  CHECK(err.str() == "dwellog: --pem: only show has it\n");
}
