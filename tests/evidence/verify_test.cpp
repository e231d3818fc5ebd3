#include "analysis/certificate/verify.hpp"

#include <catch2/catch.hpp>

#include "analysis/evidence/sealed_fields.hpp"
#include "tests/evidence/example_site.hpp"

using namespace analysis::certificate;
using example::lines_of;

namespace {

// What is said of the readings `text` beside the good certificate.
std::string failures_with(const std::string& text) {
  const Verification v = example::verify(example::good().certificate, &text);
  CHECK(v.status == VerificationStatus::not_proved);
  return lines_of(v, LineKind::failed);
}

std::string text_without_line(std::size_t number) {
  std::string text;
  std::size_t at = 0;
  for (std::size_t line = 1; at < example::good().readings_text.size(); ++line) {
    const std::size_t end = example::good().readings_text.find('\n', at) + 1;
    if (line != number) {
      text += example::good().readings_text.substr(at, end - at);
    }
    at = end;
  }
  return text;
}

}  // namespace

TEST_CASE("CertificateReadingsAndKeyTogetherAreProved") {
  const Verification v =
      example::verify(example::good().certificate, &example::good().readings_text);
  CHECK(v.status == VerificationStatus::proved);
  CHECK(lines_of(v, LineKind::failed).empty());
  const std::string proved = lines_of(v, LineKind::proved);
  CHECK(proved.find("that key is the one given from outside") != std::string::npos);
  CHECK(proved.find("the 241 readings are those that were signed") != std::string::npos);
  CHECK(proved.find("verdict \"ready\" with its gates: recomputed from the readings, as signed") !=
        std::string::npos);
  CHECK(proved.find("dwell accounting (60.00 h") != std::string::npos);
  CHECK(lines_of(v, LineKind::unproved).find("self-declared") != std::string::npos);
  REQUIRE(v.certificate);
  CHECK(v.certificate->sha256_hex.size() == 64);
}

TEST_CASE("WithoutReadingsTheVerdictIsNotRecomputedAndThatIsSaid") {
  const Verification v = example::verify(example::good().certificate);
  CHECK(v.status == VerificationStatus::proved);
  CHECK(lines_of(v, LineKind::unproved).find("no readings were given") != std::string::npos);
  CHECK(lines_of(v, LineKind::proved).find("recomputed") == std::string::npos);
}

TEST_CASE("WithoutAnOutsideKeyItIsIntactAtMost") {
  VerifyInput input;
  input.certificate = example::good().certificate;
  const Verification v = verify_certificate(input);
  CHECK(v.status == VerificationStatus::intact_only);
  CHECK(lines_of(v, LineKind::unproved)
            .find(analysis::evidence::fingerprint_of(example::key().public_key())) !=
        std::string::npos);
}

TEST_CASE("AnotherKeyIsNotProved") {
  VerifyInput input;
  input.certificate = example::good().certificate;
  input.outside_key = example::key(2).public_key();
  const Verification v = verify_certificate(input);
  CHECK(v.status == VerificationStatus::not_proved);
  CHECK(lines_of(v, LineKind::failed).find("names another key") != std::string::npos);
}

TEST_CASE("ASimulatedSiteIsCalledSo") {
  const Verification v = example::verify(example::good().certificate);
  REQUIRE_FALSE(v.lines.empty());
  CHECK(v.lines[0].text.starts_with("SIMULATED SITE"));
  const std::string as_real = example::changed(example::good().certificate,
                                               [](auto& r) { r["header"]["simulated"] = false; });
  CHECK(example::verify(as_real).status == VerificationStatus::not_proved);
  CertificateFacts real = example::declared();
  real.simulated = false;
  const auto issued = example::issue(real, example::readings());
  for (const auto& line : example::verify(issued.certificate).lines) {
    CHECK(line.text.find("SIMULATED") == std::string::npos);
  }
}

TEST_CASE("ARedactedAddressStillVerifiesAndIsNamed") {
  const auto copy = redact_certificate(example::good().certificate,
                                       {"parties.site_address", "assessment.gates.1.reason"});
  REQUIRE(copy);
  const Verification v = example::verify(copy.value(), &example::good().readings_text);
  CHECK(v.status == VerificationStatus::proved);
  CHECK(lines_of(v, LineKind::note).find("redacted: parties.site_address\n") != std::string::npos);
}

TEST_CASE("EachFieldThatMayBeRedactedCanBeTakenOutAlone") {
  const auto document =
      analysis::evidence::open_sealed(example::good().certificate, kCertificateFormat).value();
  int taken_out = 0;
  for (const auto& [path, digest] : document.header.fields) {
    // The first entry of each list stands for the others.
    if (!is_redactable(path) || path.find_first_of("123456789") != std::string::npos) {
      continue;
    }
    ++taken_out;
    const auto copy = redact_certificate(example::good().certificate, {path});
    REQUIRE(copy);
    const Verification v = example::verify(copy.value(), &example::good().readings_text);
    CAPTURE(path, lines_of(v, LineKind::failed));
    CHECK(v.status == VerificationStatus::proved);
  }
  CHECK(taken_out == 13);
}

TEST_CASE("EachEssentialFieldTakenOutIsNotProved") {
  const auto document =
      analysis::evidence::open_sealed(example::good().certificate, kCertificateFormat).value();
  for (const auto& [path, digest] : document.header.fields) {
    if (is_redactable(path)) {
      continue;
    }
    const std::string copy = example::changed(example::good().certificate,
                                              [&name = path](auto& r) { r["facts"].erase(name); });
    CAPTURE(path);
    const Verification v = example::verify(copy);
    CHECK(v.status == VerificationStatus::not_proved);
    CHECK(lines_of(v, LineKind::failed).find("redacted: " + path) != std::string::npos);
  }
}

TEST_CASE("ReadingsThatAreNotThoseSignedAreLocated") {
  const std::string& text = example::good().readings_text;
  const auto edited = [&](const std::string& from, const std::string& to) {
    std::string copy = text;
    return copy.replace(copy.find(from), from.size(), to);
  };
  const std::string line_101 =
      line_from_reading(example::readings()[99]).value();  // line 1 is the header
  CHECK(failures_with(edited(line_101, line_101 + ",")).starts_with("readings, line 101: "));
  std::string raw_edited = line_101;
  raw_edited.replace(raw_edited.find(",1950,"), 6, ",1951,");
  CHECK(failures_with(edited(line_101, raw_edited)) ==
        "readings, lines 66 to 129: at least one of them is not as it was signed\n");
  CHECK(failures_with(text_without_line(101))
            .starts_with("readings, line 101: box box-1, boot 1: sequence 100 to 100 is left out"));
  CHECK(failures_with(edited(line_101 + "\n", line_101 + "\n" + line_101 + "\n"))
            .starts_with("readings, line 102: not after the record before it"));
  const std::string line_102 = line_from_reading(example::readings()[100]).value();
  CHECK(failures_with(edited(line_101 + "\n" + line_102, line_102 + "\n" + line_101))
            .starts_with("readings, line 102: not after the record before it"));
  std::string inserted = line_101;
  inserted.replace(inserted.find(":45:00Z"), 7, ":45:01Z");
  CHECK(failures_with(edited(line_101 + "\n", line_101 + "\n" + inserted + "\n"))
            .starts_with("readings, line 102: sequence 100 comes after 100"));
}

TEST_CASE("EmptyCutOrForeignReadingsAreRefused") {
  const std::string& text = example::good().readings_text;
  const std::string header = std::string(kReadingsHeader) + "\n";
  CHECK(failures_with("") == "the readings hold no record, so nothing can be recomputed\n");
  CHECK(failures_with(header) == "the readings hold no record, so nothing can be recomputed\n");
  CHECK(failures_with("a,b\n1,2\n") == "readings, line 1: not the header of a readings file\n");
  CHECK(failures_with(text.substr(text.find('\n') + 1))
            .starts_with("readings, line 1: not the header"));
  CHECK(failures_with(text.substr(0, text.size() - 1)).starts_with("readings, line 242: cut off"));
  const std::size_t end_of_200 = [&] {
    std::size_t at = 0;
    for (int line = 0; line < 200; ++line) {
      at = text.find('\n', at) + 1;
    }
    return at;
  }();
  CHECK(failures_with(text.substr(0, end_of_200)) ==
        "the readings end after line 200: 241 records were signed, here are 199\n");
  auto other = example::readings();
  for (Reading& r : other) {
    r.box_id = "box-9";
  }
  CHECK(failures_with(example::readings_text_from(other)) ==
        "readings, line 2: box \"box-9\" carries none of the instruments\n");
  CHECK(failures_with(text + text.substr(text.find("\n") + 1))
            .starts_with("readings, line 243: more than the 241 records"));
  CHECK(failures_with(header + std::string(5000, 'x')).starts_with("readings, line 2: longer"));
}

TEST_CASE("ACertificateOfNothingIsNotProvedByAnEmptyFile") {
  const auto issued = example::issue(example::declared(), {});
  const Verification v = example::verify(issued.certificate, &issued.readings_text);
  CHECK(v.status == VerificationStatus::not_proved);
}

TEST_CASE("AnotherVersionsWordingIsSetBesideOurs") {
  CertificateFacts facts = example::good().facts;
  facts.assessment.gates[0].reason = "told otherwise";
  const auto same = issue_certificate(facts, example::key()).value();
  const Verification refused = example::verify(same, &example::good().readings_text);
  CHECK(refused.status == VerificationStatus::not_proved);
  CHECK(lines_of(refused, LineKind::failed).find("told otherwise") != std::string::npos);
  facts.software = "dwellog 99";
  const auto later = issue_certificate(facts, example::key()).value();
  const Verification shown = example::verify(later, &example::good().readings_text);
  CHECK(shown.status == VerificationStatus::proved);
  CHECK(lines_of(shown, LineKind::unproved).find("told otherwise") != std::string::npos);
}

TEST_CASE("AnotherVersionsRulesAreNamedButExcuseNothing") {
  CertificateFacts facts = example::good().facts;
  facts.software = "dwellog 99";
  facts.dwell.in_band_seconds += 3600;
  const auto bytes = issue_certificate(facts, example::key()).value();
  const Verification v = example::verify(bytes, &example::good().readings_text);
  CHECK(v.status == VerificationStatus::not_proved);
  CHECK(lines_of(v, LineKind::failed).find("issued by \"dwellog 99\"") != std::string::npos);
}

TEST_CASE("OtherDrawingLibrariesDoNotMakeItAnotherProgram") {
  CertificateFacts facts = example::good().facts;
  facts.assessment.gates[0].reason = "told otherwise";
  facts.software = example::kSoftware + ", a drawing library 1.2.3";
  const auto bytes = issue_certificate(facts, example::key()).value();
  const Verification v = example::verify(bytes, &example::good().readings_text);
  CHECK(v.status == VerificationStatus::not_proved);
  CHECK(lines_of(v, LineKind::failed).find("told otherwise") != std::string::npos);
}
