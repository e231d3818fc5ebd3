// `dwellog redact` on the example certificate: the copy verifies, and what is wrong writes nothing.
#include <algorithm>
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <functional>
#include <sstream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/verify/verify_files.hpp"
#include "tests/app/scratch_folder.hpp"

namespace verify = logger::verify;
using namespace logger::app;

namespace {

const std::filesystem::path kExample = "tests/evidence/example";

std::string text_of(const path& file) {
  std::ifstream in(file, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

struct Said {
  int status = -1;
  std::string out;
  std::string err;
};

Said redact_with(const std::function<void(RedactOptions&)>& change) {
  RedactOptions options;
  options.certificate = kExample / "certificate.json";
  change(options);
  std::ostringstream out, err;
  const int status = redact(options, {out, err});
  return {status, out.str(), err.str()};
}

Said verify_copy(const path& copy, bool with_readings) {
  verify::VerifyOptions options{copy, kExample / "certificate-key.pub", {}, {}};
  if (with_readings) {
    options.readings = kExample / "readings.csv";
  }
  std::ostringstream out, err;
  const int status = verify_files(options, {"dwellog", out, err});
  return {status, out.str(), err.str()};
}

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

void check_one_line(const Said& said, const std::string& part) {
  INFO(said.err);
  CHECK(said.out.empty());
  CHECK(std::ranges::count(said.err, '\n') == 1);
  CHECK(said.err.starts_with("dwellog: "));
  CHECK(holds(said.err, part));
}

}  // namespace

TEST_CASE("ACopyWithoutNamesVerifiesAndSaysWhatIsMissing") {
  const ScratchFolder scratch;
  const path copy = scratch.path() / "copy.json";
  const Said said = redact_with([&](RedactOptions& o) {
    o.paths = {"parties.client", "parties.site_address", "parties.client"};
    o.output = copy;
  });
  INFO(said.err);
  REQUIRE(said.status == kExitDone);
  CHECK(holds(said.out, "redacted     parties.client\nredacted     parties.site_address\n"));
  CHECK(holds(said.out, "The PDF and HTML of the certificate still show"));
  CHECK(holds(text_of(kExample / "certificate.json"), "Client B"));
  CHECK_FALSE(holds(text_of(copy), "Client B"));
  CHECK_FALSE(holds(text_of(copy), "1 Example Row"));
  CHECK(holds(text_of(copy), "Installer A"));
  const Said verified = verify_copy(copy, true);
  CHECK(verified.status == kExitDone);
  CHECK(holds(verified.out, "note: redacted: parties.client\nnote: redacted: parties.site_addr"));
}

TEST_CASE("PersonalTakesEveryNameAndPlace") {
  const ScratchFolder scratch;
  const path copy = scratch.path() / "copy.json";
  const Said said = redact_with([&](RedactOptions& o) {
    o.personal = true;
    o.output = copy;
  });
  REQUIRE(said.status == kExitDone);
  for (const char* name : {"Client B", "Installer A", "1 Example Row", "Observer C", "Tester D",
                           "Living room", "placement of"}) {
    INFO(name);
    CHECK_FALSE(holds(text_of(copy), name));
  }
  CHECK_FALSE(holds(said.out, "worth a look"));
  CHECK(verify_copy(copy, true).status == kExitDone);
  const Said again = redact_with([&](RedactOptions& o) {
    o.certificate = copy;
    o.personal = true;
    o.output = scratch.path() / "second.json";
  });
  CHECK(again.status == kExitInput);
  check_one_line(again, "names nothing to take out");
}

TEST_CASE("ANameThatStillStandsInTheWordingOfAGateIsPointedOut") {
  const ScratchFolder scratch;
  const Said said = redact_with([&](RedactOptions& o) {
    o.paths = {"site_gates.0.by"};
    o.output = scratch.path() / "copy.json";
  });
  REQUIRE(said.status == kExitDone);
  CHECK(holds(said.out,
              "worth a look: \"Observer C\" of site_gates.0.by still stands in "
              "assessment.gates.5.reason\n"));
}

TEST_CASE("TheListNamesWhatMayBeTakenOutAndWritesNothing") {
  const Said said = redact_with([](RedactOptions& o) { o.list = true; });
  REQUIRE(said.status == kExitDone);
  CHECK(holds(said.out, "parties.job_name (person or place): \"Job \\\"north\\\"\"\n"));
  CHECK(holds(said.out, "assessment.gates.0.reason (wording): "));
  CHECK(holds(said.out, "assessment.gates.5.reason (person or place): "));
  CHECK_FALSE(holds(said.out, "room.id"));
}

TEST_CASE("AWrongPathOrFileGivesOneLineAndWritesNothing") {
  const ScratchFolder scratch;
  const path copy = scratch.path() / "copy.json";
  const path other = scratch.path() / "other.json";
  const auto with_path = [&](const char* taken) {
    return redact_with([&](RedactOptions& o) {
      o.paths = {"parties.client", taken};
      o.output = copy;
    });
  };
  const auto with_text = [&](const std::string& text) {
    std::ofstream(other, std::ios::binary) << text;
    return redact_with([&](RedactOptions& o) {
      o.certificate = other;
      o.paths = {"parties.client"};
      o.output = copy;
    });
  };
  const std::string whole = text_of(kExample / "certificate.json");
  std::string altered = whole;
  altered.replace(altered.find("Client B"), 8, "Client X");

  const Said essential = with_path("assessment");
  CHECK(essential.status == kExitInput);
  check_one_line(essential, "\"assessment\" can't be redacted");
  const Said absent = with_path("instruments.99.placement");
  CHECK(absent.status == kExitInput);
  check_one_line(absent, "\"instruments.99.placement\" is not in the document");
  const Said broken = with_text(altered);
  CHECK(broken.status == kExitNot);
  check_one_line(broken, "altered after signing: parties.client; nothing was written");
  const Said cut = with_text(whole.substr(0, whole.size() - 1));
  CHECK(cut.status == kExitInput);
  check_one_line(cut, "not a certificate");
  CHECK_FALSE(std::filesystem::exists(copy));
}

TEST_CASE("NothingIsEverWrittenOverAFile") {
  const ScratchFolder scratch;
  const path copy = scratch.path() / "copy.json";
  std::ofstream(copy) << "mine";
  const Said said = redact_with([&](RedactOptions& o) {
    o.paths = {"parties.client"};
    o.output = copy;
  });
  CHECK(said.status == kExitInput);
  check_one_line(said, "is there already");
  CHECK(text_of(copy) == "mine");
  const Said nowhere = redact_with([&](RedactOptions& o) {
    o.paths = {"parties.client"};
    o.output = copy / "inside a file";
  });
  CHECK(nowhere.status == kExitCouldNotDo);
  check_one_line(nowhere, "cannot write");
}

TEST_CASE("RedactWantsEitherAListOrACopy") {
  for (const bool list : {false, true}) {
    const Said said = redact_with([&](RedactOptions& o) {
      o.list = list;
      o.personal = list;
    });
    CHECK(said.status == kExitInput);
    check_one_line(said, "expected either --list");
  }
}
