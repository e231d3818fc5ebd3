#include "analysis/certificate/certificate_json.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "analysis/certificate/fields/fact_fields.hpp"
#include "analysis/evidence/checkpoint.hpp"
#include "tests/evidence/example_site.hpp"

using namespace analysis::certificate;
using analysis::base::Micros;

namespace {

std::string refusal(const std::function<void(CertificateFacts&)>& change) {
  CertificateFacts facts = example::good().facts;
  change(facts);
  const auto bytes = issue_certificate(facts, example::key());
  return bytes ? "issued" : bytes.error().text;
}

}  // namespace

TEST_CASE("ACertificateReadsBackAsItWasIssued") {
  const auto read = read_certificate(example::good().certificate);
  REQUIRE(read);
  const CertificateFacts& f = read.value().facts;
  CHECK(fields_from_facts(f) == fields_from_facts(example::good().facts));
  CHECK(f.number == "room-1-1");
  CHECK(f.issued_at == example::good().facts.issued_at);
  CHECK(f.simulated);
  CHECK(f.parties.site_address == "1 Example Row");
  CHECK(f.requirements == example::good().facts.requirements);
  CHECK(f.delivered_at == example::kStart);
  CHECK_FALSE(f.slab_poured_at);
  CHECK(f.instruments[1].channel.calibrations[0].gain == 1.001);
  CHECK(f.instruments[4].placement == "placement of out-t");
  CHECK(f.site_gates[3].by == "Observer C");
  CHECK(f.site_gates[3].noted_at == example::kStart + std::chrono::hours(2));
  auto gates = example::good().facts.assessment.gates;
  for (auto& gate : gates) {
    if (gate.wrong_probability) {  // a bound, so rounded up
      gate.wrong_probability = std::ceil(*gate.wrong_probability * 1000.0 - 1e-6) / 1000.0;
    }
  }
  CHECK(f.assessment.gates == gates);
  CHECK(gates[1].id == "dwell");
  CHECK(gates[1].wrong_probability);
  CHECK(f.assessment.wrong_ready_probability);
  CHECK(f.stack == example::good().facts.stack);
  REQUIRE(f.subfloor_tests.dish);
  CHECK(f.subfloor_tests.dish->by == "Tester D");
  CHECK(f.subfloor_tests.dish->survey.dishes.at(0).mass_gain.value() == 0.0061);
  REQUIRE(f.subfloor_tests.wood);
  CHECK(f.subfloor_tests.wood->compensation == analysis::physics::MeterCompensation::temperature);
  CHECK(f.subfloor_tests.wood->species.slope_kg_per_kg == 1.1);
  CHECK(f.subfloor_tests.wood->readings.at(0).shown.value() == 0.11);
  REQUIRE(f.subfloor_tests.carbide);
  CHECK(f.subfloor_tests.carbide->survey.samples.at(0).value() == Approx(0.017));
  CHECK(f.instruments[1].channel.specification ==
        example::good().facts.instruments[1].channel.specification);
  CHECK(f.chart.series[0].buckets.size() == example::good().facts.chart.series[0].buckets.size());
  CHECK(f.readings == example::good().facts.readings);
  CHECK(read.value().redacted.empty());
  CHECK(read.value().unknown_fields.empty());
  CHECK(read.value().public_key == example::key().public_key());
}

namespace {

std::size_t good_path_count(const std::string& path) {
  return fields_from_facts(example::good().facts).count(path);
}

std::string checkpoint_line(std::uint64_t size, bool simulated = true) {
  const auto root = analysis::evidence::sha256_from_bytes("invented");
  std::string line =
      analysis::evidence::sign_checkpoint({size, root}, simulated, example::kStart, example::key())
          .value();
  line.pop_back();
  return line;
}

const std::string kDigest(64, 'a');

}  // namespace

TEST_CASE("WorkOnSiteLogAndTheCertificateBeforeAreReadBack") {
  CertificateFacts declared = example::declared();
  declared.supersedes = SupersededFacts{"room-1-0", kDigest, "named wrongly"};
  declared.laying = {example::kStart, std::nullopt, {}};
  declared.placements = {{"core-t", example::kStart, "Fitter E", "third carton"}};
  declared.photos = {{"gate.flat", example::kStart, kDigest, 5}};
  declared.log = LogFacts{checkpoint_line(9),
                          AnchorFacts{checkpoint_line(4), example::kStart, "Authority", "MAA="}, 3};
  const auto issued = example::issue(declared, example::readings());
  const auto read = read_certificate(issued.certificate);
  REQUIRE(read);
  const CertificateFacts& f = read.value().facts;
  REQUIRE(f.supersedes);
  CHECK(f.supersedes->reason == "named wrongly");
  CHECK(f.supersedes->certificate_sha256_hex == kDigest);
  CHECK(f.laying == declared.laying);
  CHECK(f.placements.at(0).by == "Fitter E");
  CHECK(f.photos.at(0).bytes == 5);
  REQUIRE(f.log);
  CHECK(f.log->checkpoint == checkpoint_line(9));
  REQUIRE(f.log->anchor);
  CHECK(f.log->anchor->authority == "Authority");
  CHECK(f.log->readings_anchored == 3);
  const std::vector<std::string> out = {"placements.0.by", "placements.0.remark",
                                        "supersedes.reason"};
  const auto copy = redact_certificate(issued.certificate, out);
  REQUIRE(copy);
  CHECK(read_certificate(copy.value()).value().redacted == out);
}

TEST_CASE("ProbesReadByHandAreSignedOnlyWhereThereAreAny") {
  CHECK(good_path_count("subfloor_tests.rh") == 0);
  CertificateFacts declared = example::declared();
  declared.requirements.slab = analysis::readiness::SlabRequirements{};
  declared.subfloor_tests.rh = example::probe_test();
  const auto issued = example::issue(declared, example::readings());
  // Highest 74.2 %RH of 75: the job has no probe that stays in the slab.
  const auto& gates = issued.facts.assessment.gates;
  const auto slab = std::ranges::find(gates, "slab", &analysis::readiness::GateResult::id);
  REQUIRE(slab != gates.end());
  CHECK(slab->state == analysis::readiness::GateState::met);
  const auto read = read_certificate(issued.certificate);
  REQUIRE(read);
  REQUIRE(read.value().facts.subfloor_tests.rh);
  const auto& test = *read.value().facts.subfloor_tests.rh;
  CHECK(test.by == "Tester D");
  CHECK(test.at == example::kStart);
  CHECK(test.test.thickness.value() == 0.1);
  CHECK(test.test.service_conditions_held == std::chrono::hours(72));
  REQUIRE(test.test.places.size() == 3);
  CHECK(test.test.places[0].rh.value() == 0.742);
  CHECK(test.test.places[0].equilibrated_for == std::chrono::hours(26));
  CHECK_FALSE(test.test.places[0].slab);
  CHECK(test.test.places[1].slab == analysis::base::Celsius{19.5});
  const std::vector<std::string> out = {"subfloor_tests.rh.by"};
  CHECK(read_certificate(redact_certificate(issued.certificate, out).value()).value().redacted ==
        out);
  CHECK(refusal([](auto& f) {
          f.subfloor_tests.rh = example::probe_test();
          f.subfloor_tests.rh->at = f.issued_at + Micros{1};
        }).starts_with("subfloor_tests: "));
}

TEST_CASE("WorkAndLogThatContradictThemselvesAreNotIssued") {
  const auto with = [](const char* what, const std::function<void(CertificateFacts&)>& change) {
    const std::string found = refusal(change);
    INFO(found);
    CHECK(found.starts_with(what));
  };
  with("supersedes:", [](auto& f) { f.supersedes = SupersededFacts{f.number, kDigest, "x"}; });
  with("supersedes: no reason", [](auto& f) { f.supersedes = SupersededFacts{"a", kDigest, ""}; });
  with("supersedes:", [](auto& f) { f.supersedes = SupersededFacts{"a", "12", "x"}; });
  with("laying: finished", [](auto& f) { f.laying = {f.period.to, f.period.from, {}}; });
  with("laying: gaps, joints", [](auto& f) {
    f.laying.finished_at.reset();
    f.laying.laid.rows = 3;
  });
  with("laying: noted", [](auto& f) { f.laying.began_at = f.issued_at + Micros{1}; });
  with("placement of \"x\"", [](auto& f) {
    f.placements = {{"x", f.issued_at + Micros{1}, "", ""}};
  });
  with("photo of \"x\"", [](auto& f) { f.photos = {{"x", f.period.from, "AA", 1}}; });
  with("photo of \"x\"", [](auto& f) { f.photos = {{"x", f.period.from, kDigest, 0}}; });
  with("log.checkpoint: ", [](auto& f) { f.log = LogFacts{"{}", {}, 0}; });
  with("log.checkpoint: of another", [](auto& f) {
    f.log = LogFacts{checkpoint_line(9, false), {}, 0};
  });
  with("log.readings_anchored: 1", [](auto& f) { f.log = LogFacts{checkpoint_line(9), {}, 1}; });
  with("log.anchor.checkpoint: of a longer", [](auto& f) {
    f.log =
        LogFacts{checkpoint_line(9), AnchorFacts{checkpoint_line(10), f.period.from, "A", ""}, 0};
  });
}

TEST_CASE("RequirementsAndCalibrationsAreKeptToTheLastBit") {
  CertificateFacts declared = example::declared();
  declared.requirements.rh_high.value = analysis::base::RelativeHumidity{0.1 + 0.2};
  declared.requirements.grace.value = Micros{899'999'999};
  declared.requirements.slab.emplace();
  declared.requirements.site_gates.pop_back();
  declared.instruments[0].channel.calibrations[0].offset = 1.0 / 3.0;
  declared.slab_poured_at = example::kStart - std::chrono::hours(24 * 90) + Micros{1};
  const auto issued = example::issue(declared, example::readings());
  const auto read = read_certificate(issued.certificate);
  REQUIRE(read);
  CHECK(read.value().facts.requirements == declared.requirements);
  CHECK(read.value().facts.slab_poured_at == declared.slab_poured_at);
  CHECK(read.value().facts.instruments[0].channel.calibrations[0].offset == 1.0 / 3.0);
}

TEST_CASE("TheSameFactsGiveTheSameBytes") {
  const auto again = example::issue(example::declared(), example::readings());
  CHECK(again.certificate == example::good().certificate);
  CHECK(issue_certificate(read_certificate(again.certificate).value().facts, example::key())
            .value() == example::good().certificate);
}

TEST_CASE("FactsThatContradictThemselvesAreNotIssued") {
  CHECK(refusal([](CertificateFacts&) {}) == "issued");
  CHECK(refusal([](CertificateFacts& f) { f.number = "a b"; }).starts_with("number: \"a b\""));
  CHECK(refusal([](CertificateFacts& f) { f.number = ""; }).starts_with("number:"));
  CHECK(refusal([](CertificateFacts& f) { f.period.from = f.period.to; }).starts_with("period:"));
  CHECK(refusal([](CertificateFacts& f) {
          f.issued_at = f.period.to - Micros{1};
        }).starts_with("issued_at:"));
  CHECK(
      refusal([](CertificateFacts& f) { f.assessment.at.value -= 1; }).starts_with("assessment:"));
  CHECK(refusal([](CertificateFacts& f) {
          f.assessment.gates[0].state = analysis::readiness::GateState::unknown;
        }).starts_with("assessment: verdict \"ready\", but gate"));
  CHECK(refusal([](CertificateFacts& f) {
          f.assessment.verdict = analysis::readiness::Verdict::not_ready;
        }).ends_with("but every gate is met"));
  CHECK(refusal([](CertificateFacts& f) {
          f.site_gates.push_back(f.site_gates[0]);
        }).starts_with("site gate room_kind: noted twice"));
  CHECK(refusal([](CertificateFacts& f) {
          f.site_gates[1].at = f.issued_at + Micros{1};
        }).find("after the issue") != std::string::npos);
  CHECK(refusal([](CertificateFacts& f) {
          f.instruments[1].channel.channel_id = "air-t";
        }).find("share an id") != std::string::npos);
  CHECK(refusal([](CertificateFacts& f) {
          f.instruments[1].channel.channel_index = 8;
        }).find("expected 0 to 7") != std::string::npos);
  CHECK(refusal([](CertificateFacts& f) {
          f.instruments[0].channel.box_id = "a,b";
        }).find("box id") != std::string::npos);
  CHECK(refusal([](CertificateFacts& f) {
          auto& calibrations = f.instruments[0].channel.calibrations;
          calibrations.push_back(calibrations[0]);
        }).find("order of time") != std::string::npos);
  CHECK(refusal([](CertificateFacts& f) {
          f.instruments.resize(1025, f.instruments[0]);
        }).starts_with("instruments: 1025"));
  CHECK(refusal([](CertificateFacts& f) { f.readings.records += 64; }).starts_with("readings:"));
  CHECK(refusal([](CertificateFacts& f) {
          f.readings.root_sha256_hex[0] = f.readings.root_sha256_hex[0] == '0' ? '1' : '0';
        }).starts_with("readings:"));
  CHECK(refusal([](CertificateFacts& f) {
          f.chart.series[0].buckets.clear();
        }).starts_with("chart:"));
  CHECK(refusal([](CertificateFacts& f) { f.chart.bucket = Micros{0}; }).starts_with("chart:"));
  CHECK(refusal([](CertificateFacts& f) {
          f.lost_records.push_back({"box-1", 1, 5, 4, "missing"});
        }).starts_with("lost records"));
  CHECK(refusal([](CertificateFacts& f) { f.parties.client = "\xFF"; }).find("UTF-8") !=
        std::string::npos);
  CHECK(refusal([](CertificateFacts& f) { f.room.floor_area_m2 = NAN; }) != "issued");
}

TEST_CASE("GroundsOfASiteGateAreSignedAndMayBeTakenOut") {
  CertificateFacts facts = example::good().facts;
  facts.site_gates[2].grounds = "Worst 2.4 mm in 1 m of 3 mm";
  const auto issued = issue_certificate(facts, example::key());
  REQUIRE(issued);
  CHECK(read_certificate(issued.value()).value().facts.site_gates[2].grounds ==
        "Worst 2.4 mm in 1 m of 3 mm");
  CHECK(read_certificate(issued.value()).value().facts.site_gates[3].grounds.empty());
  const auto copy = redact_certificate(issued.value(), {"site_gates.2.grounds"});
  REQUIRE(copy);
  CHECK(copy.value().find("2.4 mm") == std::string::npos);
  CHECK(read_certificate(copy.value()).value().facts.site_gates[2].grounds == kRedactedText);
  // What was issued before grounds were signed names none.
  CHECK(example::good().certificate.find("grounds") == std::string::npos);
}

TEST_CASE("PersonalFieldsAreThoseThatNamePersonsOrPlaces") {
  const auto paths = personal_paths(example::good().certificate);
  REQUIRE(paths);
  const auto has = [&](const char* path) {
    return std::ranges::find(paths.value(), path) != paths.value().end();
  };
  CHECK(has("parties.job_name"));
  CHECK(has("parties.client"));
  CHECK(has("room.name"));
  CHECK(has("instruments.4.placement"));
  CHECK(has("site_gates.7.by"));
  const auto copy = redact_certificate(example::good().certificate, paths.value());
  REQUIRE(copy);
  for (const char* personal : {"Example Row", "Installer A", "Client B", "Observer C",
                               "Living room", "placement of", "north"}) {
    CAPTURE(personal);
    CHECK(copy.value().find(personal) == std::string::npos);
  }
  CHECK(personal_paths(copy.value()).value().empty());
  const auto read = read_certificate(copy.value());
  REQUIRE(read);
  CHECK(read.value().facts.parties.client == kRedactedText);
  CHECK(read.value().redacted == paths.value());
}

TEST_CASE("WhatAVerdictStandsOnCanNotBeRedacted") {
  for (const char* path : {"assessment", "requirements", "period", "readings", "dwell",
                           "instruments", "site_gates", "cautions", "software", "chart",
                           "instruments.x.placement", "instruments..placement", "parties"}) {
    CAPTURE(path);
    CHECK_FALSE(is_redactable(path));
    CHECK_FALSE(redact_certificate(example::good().certificate, {path}));
  }
  CHECK_FALSE(redact_certificate(example::good().certificate, {"instruments.99.placement"}));
}

TEST_CASE("AFieldOfALaterVersionIsReadAsUnknown") {
  const auto document =
      analysis::evidence::open_sealed(example::good().certificate, kCertificateFormat).value();
  auto fields = document.facts;
  fields["of_a_later_version"] = {{"number", "room-1-0"}};
  const auto bytes = analysis::evidence::seal(document.header, fields, example::key());
  const auto read = read_certificate(bytes.value());
  REQUIRE(read);
  CHECK(read.value().unknown_fields == std::vector<std::string>{"of_a_later_version"});
}

TEST_CASE("AnAlteredCertificateIsNotRead") {
  CHECK_FALSE(read_certificate(example::changed(example::good().certificate, [](auto& r) {
    r["facts"]["parties.client"]["value"] = "Client C";
  })));
  CHECK_FALSE(read_certificate(""));
  CHECK_FALSE(read_certificate("{}"));
}

TEST_CASE("MembersThatCameLaterAreLeftOutWhereTheySayNothing") {
  const auto instrument_text = [](const example::Issued& issued) {
    const std::string& text = issued.certificate;
    const std::size_t begin = text.find("\"instruments\"");
    return text.substr(begin, text.find("\"unit\"", begin) - begin);
  };
  CHECK(instrument_text(example::good()).find("value_at_zero") == std::string::npos);
  CHECK(instrument_text(example::good()).find("frozen_after_s") == std::string::npos);

  CertificateFacts declared = example::declared();
  declared.instruments[0].channel.scale.value_at_zero = 0.125;
  declared.instruments[0].channel.scale.frozen_after = Micros{7'200'000'000};
  const example::Issued issued = example::issue(declared, example::readings());
  CHECK(issued.certificate.find("\"frozen_after_s\":7200,") != std::string::npos);
  CHECK(issued.certificate.find("\"value_at_zero\":0.125") != std::string::npos);
  const auto read = read_certificate(issued.certificate);
  REQUIRE(read);
  const auto& scale = read.value().facts.instruments[0].channel.scale;
  CHECK(scale.value_at_zero == 0.125);
  CHECK(scale.frozen_after == Micros{7'200'000'000});
  CHECK_FALSE(read.value().facts.instruments[1].channel.scale.frozen_after);
}

TEST_CASE("WhatWasLaidIsReadBackAndLeftOutWhereNothingWasNoted") {
  CHECK(example::good().certificate.find("\"laying.") == std::string::npos);

  CertificateFacts declared = example::declared();
  declared.laying.began_at = example::kStart;
  declared.laying.finished_at = example::kStart + std::chrono::hours(8);
  auto& laid = declared.laying.laid;
  laid.gaps = {{"1-2", analysis::base::Metres{0.008}}, {"", analysis::base::Metres{0.0127}}};
  laid.joints = {{"door", "T-moulding"}};
  laid.rows = 31;
  laid.first_row = analysis::base::Metres{0.12};
  laid.cartons_left = 0;
  const example::Issued issued = example::issue(declared, example::readings());
  CHECK(issued.certificate.find("\"laying.cartons_left\"") != std::string::npos);
  CHECK(issued.certificate.find("\"laying.cartons_used\"") == std::string::npos);
  const auto read = read_certificate(issued.certificate);
  REQUIRE(read);
  CHECK(read.value().facts.laying.laid == laid);
  CHECK(read.value().unknown_fields.empty());
  CHECK_FALSE(is_redactable("laying.gaps"));
}
