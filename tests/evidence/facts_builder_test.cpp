#include "analysis/certificate/facts_builder.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "analysis/evidence/merkle_tree.hpp"
#include "tests/evidence/example_site.hpp"

using namespace analysis::certificate;
using analysis::base::Micros;
using analysis::readiness::Verdict;

namespace {

CertificateFacts built(CertificateFacts declared, const std::vector<Reading>& readings) {
  FactsBuilder builder(std::move(declared));
  for (const Reading& reading : readings) {
    REQUIRE(builder.add(reading));
  }
  return builder.facts();
}

std::string fault_of(FactsBuilder& builder, const Reading& reading) {
  const auto added = builder.add(reading);
  return added ? "accepted" : added.error().text;
}

}  // namespace

TEST_CASE("AGoodRoomIsReady") {
  const CertificateFacts f = built(example::declared(), example::readings());
  for (const auto& gate : f.assessment.gates) {
    CAPTURE(gate.id, gate.reason);
    CHECK(gate.state == analysis::readiness::GateState::met);
  }
  CHECK(f.assessment.verdict == Verdict::ready);
  CHECK(f.assessment.at == f.period.to);
  CHECK(f.dwell.in_band_seconds == Approx(60 * 3600));
  CHECK(f.excursions_total == 0);
  CHECK(f.lost_records.empty());
  CHECK(f.largest_time_error == Micros{203'000});
  CHECK(f.readings.records == 241);
}

TEST_CASE("TheTreeIsOverTheLines") {
  const auto readings = example::readings();
  analysis::evidence::MerkleTreeBuilder tree;
  FactsBuilder builder(example::declared());
  for (const Reading& reading : readings) {
    REQUIRE(builder.add(reading));
    CHECK(builder.line() == line_from_reading(reading).value());
    tree.add_leaf(builder.line());
  }
  const ReadingsFacts facts = builder.facts().readings;
  CHECK(facts.root_sha256_hex == analysis::evidence::hex_from_digest(tree.root()));
  CHECK(facts.block_records == 64);
  CHECK(facts.block_roots_sha256_hex.size() == 4);
}

TEST_CASE("ChartBucketsAreLowestMeanAndHighestOfTheGoodValues") {
  auto readings = example::readings();
  for (std::size_t i = 40; i < 60; ++i) {  // 10:00 to 14:45 later: no air temperature
    readings[i].record.statuses[0] = analysis::base::ChannelStatus::no_answer;
  }
  const CertificateFacts f = built(example::declared(), readings);
  const ChartFacts& chart = f.chart;
  CHECK(chart.bucket == std::chrono::minutes(30));
  REQUIRE(chart.series.size() == 5);
  REQUIRE(chart.series[0].buckets.size() == 121);
  CHECK(chart.series[0].channel_id == "air-t");
  for (std::size_t b = 0; b < 121; ++b) {
    std::vector<double> values;
    for (std::size_t i = 2 * b; i < std::min<std::size_t>(2 * b + 2, readings.size()); ++i) {
      if (i < 40 || i >= 60) {
        values.push_back(1.001 * readings[i].record.raw_counts[0] * 0.01 - 0.1);
      }
    }
    const auto& bucket = chart.series[0].buckets[b];
    CAPTURE(b);
    REQUIRE(bucket.has_value() == !values.empty());
    if (bucket) {
      CHECK(bucket->low == Approx(*std::ranges::min_element(values)));
      CHECK(bucket->high == Approx(*std::ranges::max_element(values)));
      CHECK(bucket->mean == Approx((values.front() + values.back()) / 2));
    }
  }
}

TEST_CASE("AnyPeriodHasAtMost240Buckets") {
  for (const std::int64_t minutes :
       {1, 239, 240, 241, 1199, 1200, 86'400, 172'800, 345'600, 1'000'000, 100'000'000}) {
    CertificateFacts f = example::declared();
    f.period.to = f.period.from + std::chrono::minutes(minutes);
    const ChartFacts chart = FactsBuilder(f).facts().chart;
    CAPTURE(minutes);
    CHECK(chart.series[0].buckets.size() <= 240);
    CHECK(chart.series[0].buckets.size() >= 1);
    CHECK(static_cast<std::int64_t>(chart.series[0].buckets.size()) ==
          std::chrono::minutes(minutes) / chart.bucket + 1);
  }
}

TEST_CASE("WhatIsOutOfPlaceIsRefusedAndChangesNothing") {
  const auto readings = example::readings();
  FactsBuilder builder(example::declared());
  REQUIRE(builder.add(readings[0]));
  REQUIRE(builder.add(readings[1]));
  Reading early = readings[0];
  early.dated.at.value -= 1;
  CHECK(fault_of(builder, early) == "utc is 2026-03-01T06:59:59.999999Z, outside the period");
  Reading foreign = readings[2];
  foreign.box_id = "box-2";
  CHECK(fault_of(builder, foreign) == "box \"box-2\" carries none of the instruments");
  CHECK(fault_of(builder, readings[1]).starts_with("not after the record before it"));
  CHECK(fault_of(builder, readings[0]).starts_with("not after the record before it"));
  Reading back = readings[2];
  back.record.id.sequence = 1;
  CHECK(fault_of(builder, back) == "sequence 1 comes after 2 of the same box and boot");
  for (std::size_t i = 2; i < readings.size(); ++i) {
    REQUIRE(builder.add(readings[i]));
  }
  CHECK(builder.facts().readings == built(example::declared(), readings).readings);
  Reading late = readings.back();
  late.record.id.sequence += 1;
  late.dated.at.value += 1;
  CHECK(fault_of(builder, late).ends_with("outside the period"));
}

TEST_CASE("RecordsLeftOutAreListedAsMissing") {
  auto readings = example::readings();
  readings.erase(readings.begin() + 10, readings.begin() + 13);  // sequences 11 to 13 of boot 1
  FactsBuilder builder(example::declared());
  for (const Reading& reading : readings) {
    REQUIRE(builder.add(reading));
  }
  const CertificateFacts f = builder.facts();
  REQUIRE(f.lost_records.size() == 1);
  CHECK(f.lost_records[0].first_sequence == 11);
  CHECK(f.lost_records[0].last_sequence == 13);
  CHECK(f.lost_records[0].reason == "missing");
  CHECK(builder.first_undeclared_hole() ==
        "line 12: box box-1, boot 1: sequence 11 to 13 is left out and not declared as lost");
}

TEST_CASE("DeclaredLossesCoverHolesAndOnlyThose") {
  auto readings = example::readings();
  readings.erase(readings.begin() + 10, readings.begin() + 20);  // 11 to 20
  CertificateFacts declared = example::declared();
  declared.lost_records = {{"box-1", 1, 15, 16, "corrupt"},
                           {"box-1", 1, 11, 12, "overflow"},
                           {"box-1", 1, 12, 13, "overflow"},
                           {"box-1", 2, 14, 14, "overflow"}};
  const CertificateFacts f = built(declared, readings);
  REQUIRE(f.lost_records.size() == 6);
  CHECK(f.lost_records[4].first_sequence == 14);
  CHECK(f.lost_records[4].last_sequence == 14);
  CHECK(f.lost_records[5].first_sequence == 17);
  CHECK(f.lost_records[5].last_sequence == 20);
  CHECK(built(f, readings).lost_records.size() == 6);  // declared now: nothing is added
}

TEST_CASE("ABootThatBeganInThePeriodStartsAtOne") {
  auto readings = example::readings();
  readings.erase(readings.begin() + 150, readings.begin() + 152);  // boot 2: 1 and 2
  const CertificateFacts f = built(example::declared(), readings);
  REQUIRE(f.lost_records.size() == 1);
  CHECK(f.lost_records[0].boot == 2);
  CHECK(f.lost_records[0].first_sequence == 1);
  CHECK(f.lost_records[0].last_sequence == 2);
  // Boot 1 began before the period, so what came before it is not asked for.
  auto later = example::readings();
  later.erase(later.begin());
  CHECK(built(example::declared(), later).lost_records.empty());
}

TEST_CASE("ImportsAreNotNumberedWithoutHoles") {
  auto readings = example::readings();
  for (Reading& r : readings) {
    r.record.id = {0, r.dated.at.value / 1000};
    r.record.ticks_ms = r.record.id.sequence;
  }
  CHECK(built(example::declared(), readings).lost_records.empty());
}

TEST_CASE("ANoteMadeAfterThePeriodDoesNotCountInIt") {
  CertificateFacts declared = example::declared();
  declared.site_gates[0].at = declared.period.to + Micros{1};
  CHECK(built(declared, example::readings()).assessment.verdict == Verdict::cannot_tell);
}

TEST_CASE("WithoutReadingsNothingCanBeTold") {
  const CertificateFacts f = FactsBuilder(example::declared()).facts();
  CHECK(f.assessment.verdict == Verdict::cannot_tell);
  CHECK(f.readings.records == 0);
  CHECK(f.readings.root_sha256_hex ==
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}
