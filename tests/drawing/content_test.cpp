// What the forms say of laying, photos, superseded and redacted certificates.
#include "analysis/certificate/content/content.hpp"

#include <catch2/catch.hpp>

#include "tests/drawing/pages_fixture.hpp"

using tests::contains;

namespace {

using namespace analysis::certificate;
using analysis::base::UtcMicros;
using std::chrono::hours;

ContentSource source_of(const CertificateFacts& facts, std::size_t redacted = 0) {
  return {facts, english_texts(), tests::kInventedDigest, Units::metric, redacted};
}

std::string value_of(const CertificateFacts& facts, const std::string& label) {
  for (const LabelledList& list : subject_content(source_of(facts))) {
    for (const auto& value : list.values) {
      if (value.label == label) {
        return value.value;
      }
    }
  }
  return "(no such label)";
}

// Laying `from` and `to` hours after the period's start; the period has 144 hours.
std::string place_of(std::optional<int> from, std::optional<int> to) {
  CertificateFacts facts = tests::invented_facts();
  const auto at = [&](std::optional<int> hour) {
    return hour ? std::optional(facts.period.from + hours(*hour)) : std::nullopt;
  };
  facts.laying = {at(from), at(to), {}};
  return value_of(facts, "This period");
}

std::string joined(const std::vector<std::string>& texts) {
  std::string all;
  for (const std::string& text : texts) {
    all += text + "\n";
  }
  return all;
}

}  // namespace

TEST_CASE("ThePeriodIsPlacedByTheLaying") {
  CHECK(place_of(std::nullopt, std::nullopt) == "(no such label)");
  CHECK(place_of(144, std::nullopt) == "before laying");
  CHECK(place_of(200, 210) == "before laying");
  CHECK(place_of(0, std::nullopt) == "during laying");
  CHECK(place_of(-5, 144) == "during laying");
  CHECK(place_of(-9, 0) == "after laying");
  CHECK(place_of(-9, -1) == "after laying");
  CHECK(place_of(10, std::nullopt) == "before and during laying");
  CHECK(place_of(10, 144) == "before and during laying");
  CHECK(place_of(-1, 10) == "during and after laying");
  CHECK(place_of(10, 20) == "before, during and after laying");
  CHECK(value_of(tests::invented_facts(), "Laying") == "not noted by then");
}

TEST_CASE("ALongRecordOfALayingIsCutToItsNarrowestGaps") {
  CertificateFacts facts = tests::invented_facts();
  auto& laid = facts.laying.laid;
  for (int wall = 1; wall <= 6; ++wall) {
    laid.gaps.push_back({"w" + std::to_string(wall), analysis::base::Metres{0.020 - 0.001 * wall}});
    laid.joints.push_back({"door " + std::to_string(wall), ""});
  }
  CHECK(value_of(facts, "Gaps left") ==
        "w1: 19.0 mm, w2: 18.0 mm, w3: 17.0 mm, w4: 16.0 mm, w5: 15.0 mm, w6: 14.0 mm");
  laid.gaps.push_back({"w7", analysis::base::Metres{0.0135}});
  laid.joints.push_back({"door 7", ""});
  CHECK(value_of(facts, "Gaps left") ==
        "w7: 13.5 mm, w6: 14.0 mm, w5: 15.0 mm, w4: 16.0 mm, and 3 more in the signed file");
  CHECK(value_of(facts, "Joints") ==
        "door 1, door 2, door 3, door 4, and 3 more in the signed file");
}

TEST_CASE("AfterLayingBeganTheVerdictDoesNotSayThatAFloorIsToBeLaid") {
  CertificateFacts facts = tests::invented_facts();
  facts.assessment.gates[0].action = "Wait until it is dry.";
  CHECK(verdict_content(source_of(facts)).word == "READY");
  CHECK(gates_content(source_of(facts)).columns.size() == 4);
  facts.laying.began_at = facts.assessment.at;  // the verdict is of the moment before
  CHECK(verdict_content(source_of(facts)).word == "READY");
  facts.laying.began_at = facts.assessment.at - hours(1);
  const VerdictContent verdict = verdict_content(source_of(facts));
  CHECK(verdict.word == "CONDITIONS MET");
  CHECK(contains(joined(verdict.details), "not whether to lay"));
  CHECK_FALSE(contains(verdict.meaning, "before laying"));
  const TableContent gates = gates_content(source_of(facts));
  CHECK(gates.columns.size() == 3);
  CHECK(contains(joined(gates.notes), "What would have been to do before laying is left out"));
  facts.assessment.verdict = analysis::readiness::Verdict::not_ready;
  CHECK(verdict_content(source_of(facts)).word == "CONDITIONS NOT MET");
}

TEST_CASE("PhotosAreCountedAndNamedByTheStartOfTheirDigests") {
  CertificateFacts facts = tests::invented_facts_with_much_to_say();
  std::string findings;
  for (const auto& row : gates_content(source_of(facts)).rows) {
    findings += row[2].text + row[2].note + "\n";
  }
  CHECK(contains(findings, "4 photos: 10031676, 10039595, 10047514, 10055433."));
  const TableContent notes = site_notes_content(source_of(facts));
  REQUIRE(notes.rows.size() == 6);  // four placements, a delivery, a test
  CHECK(notes.rows[0][1].text == "air-t put in its place");
  CHECK(notes.rows[0][2].text == "Ada Invented: depth measured twice, cap pressed down by hand");
  CHECK(notes.rows[0][3].text == "2 photos: 10007919, 10015838.");
  CHECK(notes.rows[2][3].text == "1 photo: 10023757.");
  CHECK(notes.rows[4][1].text == "Delivery of the cartons");
  CHECK(notes.rows[4][3].text == "2 photos: 10063352, 10071271.");
  // Probes read by hand stand after the placements, with who read them.
  analysis::readiness::RhTestNote probes{{}, "Bea Invented", facts.period.from};
  probes.test.places = {
      {analysis::base::Metres{0.04}, analysis::base::RelativeHumidity{0.742}, hours(26), {}},
      {analysis::base::Metres{0.041}, analysis::base::RelativeHumidity{0.71}, hours(26), {}}};
  facts.subfloor_tests.rh = probes;
  const TableContent read = site_notes_content(source_of(facts));
  REQUIRE(read.rows.size() == 7);
  CHECK(read.rows[4][1].text == "Probe test of the slab");
  CHECK(read.rows[4][2].text ==
        "Bea Invented: 74.2 %RH at 40 mm, read 26 h after drilling; "
        "71.0 %RH at 41 mm, read 26 h after drilling; limit at most 75.0 %RH");
  facts.subfloor_tests.rh.reset();
  // A photo of an older note of the gate is not lost with it.
  facts.photos[5].at = facts.photos[5].at - hours(1);
  CHECK(site_notes_content(source_of(facts)).rows.size() == 7);
}

TEST_CASE("SupersededAndRedactedCertificatesAreCalledSoFirst") {
  const CertificateFacts facts = tests::invented_facts_with_much_to_say();
  const auto notices = notices_content(source_of(facts, 3));
  REQUIRE(notices.size() == 2);
  CHECK(contains(notices[0], "certificate No. kitchen-2 (SHA-256 7b3c"));
  CHECK(contains(notices[0], "Reason: the slab probe"));
  CHECK(contains(notices[1], "3 fields were taken out"));
  CHECK(notices_content(source_of(tests::invented_facts())).empty());
}

TEST_CASE("WithoutALogOrAnAnchorTheReadingsAreCalledSelfDeclared") {
  CertificateFacts facts = tests::invented_facts();
  CHECK(contains(proof_content(source_of(facts)).log_text, "self-declared"));
  const std::string line = tests::invented_facts_with_much_to_say().log->checkpoint;
  facts.log = LogFacts{line, std::nullopt, 0};
  std::string text = proof_content(source_of(facts)).log_text;
  CHECK(contains(text, "5 entries, root b6748f6e"));
  CHECK(contains(text, "self-declared"));
  facts.log->anchor = AnchorFacts{line, facts.issued_at, "Invented Authority", ""};
  facts.log->readings_anchored = 7;
  text = proof_content(source_of(facts)).log_text;
  CHECK(contains(text, "7 of 8574 readings"));
  CHECK(contains(text, "by Invented Authority; the rest is self-declared"));
}
