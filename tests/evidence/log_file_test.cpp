#include <map>

#include "analysis/certificate/replay/log_check.hpp"
#include "tests/evidence/certified_site.hpp"

using namespace logged_site;

namespace {

const SiteStore& short_site() {
  static const SiteStore store{short_history()};
  return store;
}

// readings.csv, room.log and checkpoint.json of tests/evidence/example_log, as they are made.
std::map<std::string, std::string> example_files() {
  const Certified certified = certify(short_site(), {.hours = 1});
  return {{"readings.csv", certified.readings_text},
          {"room.log", certified.log_text},
          {"checkpoint.json", certified.declared.log->checkpoint + "\n"}};
}
const std::string kExampleFolder = "tests/evidence/example_log/";

// How many lines of the log check fail with another log file, without the rest of a verification.
class LogFailures {
 public:
  explicit LogFailures(const Certified& certified)
      : read_(analysis::certificate::read_certificate(certified.certificate).value()),
        readings_(lines_in(certified.readings_text)) {}

  std::ptrdiff_t operator()(const std::string& log_text) const {
    analysis::certificate::VerifyInput input;
    input.log = analysis::certificate::byte_source_from(log_text);
    analysis::certificate::LogCheck check(read_, input);
    for (std::size_t i = 1; i < readings_.size(); ++i) {
      check.take(i + 1, std::string_view(readings_[i]).substr(0, readings_[i].size() - 1));
    }
    return std::ranges::count(check.finish(true), LineKind::failed,
                              &analysis::certificate::VerificationLine::kind);
  }

 private:
  analysis::certificate::ReadCertificate read_;
  std::vector<std::string> readings_;
};

}  // namespace

TEST_CASE("EachLineOfTheLogFileThatIsMissingOrMovedIsFound") {
  const LogFailures failed_lines(good());
  REQUIRE(failed_lines(good().log_text) == 0);
  const auto lines = lines_in(good().log_text);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    CAPTURE(lines[i]);
    auto without = lines;
    without.erase(without.begin() + static_cast<std::ptrdiff_t>(i));
    CHECK(failed_lines(joined(without)) > 0);
    auto cut = lines;
    cut.resize(i);
    CHECK(failed_lines(joined(cut)) > 0);
    if (i + 1 < lines.size()) {
      auto swapped = lines;
      std::swap(swapped[i], swapped[i + 1]);
      CHECK(failed_lines(joined(swapped)) > 0);
    }
  }
  CHECK(says(failures(verify(with_log(good(), joined(lines) + "x"))), "cut off"));
  CHECK(says(failures(verify(with_log(good(), ""))), "log file, line 1"));
}

TEST_CASE("EachFlippedBitOfALogFileIsFound") {
  const Certified certified = certify(short_site(), {.hours = 1});
  INFO(certified.log_text);
  REQUIRE(verify(certified).status == VerificationStatus::proved);
  const LogFailures failed_lines(certified);
  REQUIRE(failed_lines(certified.log_text) == 0);
  for (std::size_t byte = 0; byte < certified.log_text.size(); ++byte) {
    for (int bit = 0; bit < 8; ++bit) {
      std::string flipped = certified.log_text;
      flipped[byte] = static_cast<char>(flipped[byte] ^ (1 << bit));
      if (failed_lines(flipped) == 0) {
        FAIL("bit " << bit << " of byte " << byte << " went unseen: " << flipped);
      }
    }
  }
}

TEST_CASE("MalformedLinesAreToldWithTheirNumber") {
  const auto with_line = [](std::size_t number, const std::string& line) {
    auto lines = lines_in(good().log_text);
    lines.at(number - 1) = line + "\n";
    return failures(verify(with_log(good(), joined(lines))));
  };
  CHECK(says(with_line(1, "dwellog-log-2 5"), "log file, line 1"));
  CHECK(says(with_line(1, "dwellog-log-1 05"), "log file, line 1"));
  CHECK(says(with_line(1, "dwellog-log-1 3"), "log file, line"));
  CHECK(says(with_line(1, "dwellog-log-1 99999"), "cut off"));
  CHECK(says(with_line(3, "hash 3 x"), "log file, line 3"));
  CHECK(says(with_line(3, "hash 1 " + std::string(64, 'a')), "begins at a multiple"));
  CHECK(says(with_line(3, "hash 60 " + std::string(64, 'a')), "log file, line 3"));
  CHECK(says(with_line(3, "records box-1 1 1 9000000"), "log file, line 3"));
  CHECK(says(with_line(3, "records box-1 1 1 24"), "more records than the 23 readings"));
  CHECK(says(with_line(3, "records box-1 1  1"), "log file, line 3"));
  CHECK(says(with_line(3, "record 0300"), "log file, line 3"));
  CHECK(says(with_line(3, "exchange box-1 1 5 9000000000000000000 1"), "no clock shows"));
  CHECK(says(with_line(3, "exchange box-1 1 5"), "log file, line 3"));
  CHECK(says(with_line(3, "gap box-1 1 9 5 1 0"), "log file, line 3"));
  CHECK(says(with_line(3, std::string(600, 'a')), "log file, line 3"));
  CHECK(says(with_line(20, "records box-1 1 9 1"), "too"));
}

TEST_CASE("ClocksThatWanderBeyondAllSumsAreRefused") {
  std::string log = "dwellog-log-1 40\n";
  for (int i = 0; i < 40; ++i) {
    log += "exchange box-1 1 " + std::to_string(i) +
           (i % 2 == 0 ? " 253402300799999998 1\n" : " -253402300799999998 1\n");
  }
  const auto plan =
      analysis::certificate::LogPlan::read(analysis::certificate::byte_source_from(log), 10);
  REQUIRE_FALSE(plan);
  CHECK(says(plan.error().text, "further apart than any clock shows"));
}

// The root was worked out with sha256sum by log_by_hand.sh.
TEST_CASE("TheExampleOfALogFileIsWhatTheProgramWrites") {
  CHECK(analysis::evidence::hex_from_digest(short_site().head().root) ==
        "fdfdca1b3a2c6ec87038aee8096417c6f3587f3f47e59160bd9ef0a5beaf37f6");
  for (const auto& [name, bytes] : example_files()) {
    CHECK(store_tests::read_file(kExampleFolder + name) == bytes);
  }
}

TEST_CASE("WriteTheExampleAnew", "[.write]") {
  for (const auto& [name, bytes] : example_files()) {
    store_tests::write_file(kExampleFolder + name, bytes);
  }
}
