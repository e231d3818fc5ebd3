#include <catch2/catch.hpp>

#include "analysis/certificate/content/charts.hpp"
#include "tests/drawing/pages_fixture.hpp"

using namespace analysis::certificate;
using analysis::base::ChannelRole;
using analysis::drawing::recorded_runs;
using analysis::drawing::TimeChart;

namespace {

std::vector<TimeChart> charts_of(const CertificateFacts& facts, Units units = Units::metric) {
  return charts_from(facts, units, english_texts());
}

}  // namespace

TEST_CASE("ChartsComeInAFixedOrderWithTheirLimits") {
  const auto charts = charts_of(tests::invented_facts());
  REQUIRE(charts.size() == 5);
  CHECK(charts[0].title == "Room air temperature");
  CHECK(charts[0].limit_low == 17.0);
  CHECK(charts[0].limit_high == 23.0);
  CHECK(charts[1].limit_low == Approx(45.0));
  CHECK(charts[1].limit_high == Approx(60.0));
  CHECK_FALSE(charts[2].limit_high);
  CHECK_FALSE(charts[3].limit_low);
  CHECK(charts[3].limit_high == Approx(75.0));
}

TEST_CASE("GuardedChartsShowTheLimitsThatWereDecidedBy") {
  CertificateFacts facts = tests::invented_facts();
  facts.requirements.decision.value = analysis::readiness::DecisionRule::guarded;
  for (InstrumentFacts& instrument : facts.instruments) {
    // 1.7320508 / sqrt(3) = 1.0, so the guard is 2.0 in the channel's unit.
    instrument.channel.calibrations.clear();
    instrument.channel.specification =
        analysis::readiness::SensorSpecification{1.7320508, 0.0, 0.0, "paper"};
  }
  const auto charts = charts_of(facts);
  CHECK(charts[0].limit_low.value() == Approx(19.0).margin(0.01));
  CHECK(charts[0].limit_high.value() == Approx(21.0).margin(0.01));
  CHECK(charts[1].limit_low.value() == Approx(47.0).margin(0.01));
  CHECK(charts[1].limit_high.value() == Approx(58.0).margin(0.01));
  CHECK(charts[3].limit_high.value() == Approx(73.0).margin(0.01));
}

TEST_CASE("TheUnpluggedHourBreaksEveryCurve") {
  for (const TimeChart& chart : charts_of(tests::invented_facts())) {
    INFO(chart.title);
    CHECK(recorded_runs(chart, chart.lines.front()).size() == 2);
  }
}

TEST_CASE("AGapTooShortForABucketStillBreaksTheRoomAir") {
  CertificateFacts facts = tests::invented_facts();
  const auto from = facts.chart.from + facts.chart.bucket * 10;
  facts.unknown_time.insert(facts.unknown_time.begin(),
                            {from, from + analysis::base::micros_from_hours(0.1)});
  const auto charts = charts_of(facts);
  CHECK(recorded_runs(charts[0], charts[0].lines.front()).size() == 3);
  CHECK(recorded_runs(charts[1], charts[1].lines.front()).size() == 3);
  CHECK(recorded_runs(charts[3], charts[3].lines.front()).size() == 2);
}

TEST_CASE("ExcursionsCarryTheNumberOfTheirRow") {
  const auto charts = charts_of(tests::invented_facts_with_much_to_say());
  REQUIRE(charts[0].excursions.size() == 10);
  CHECK(charts[0].excursions[1].label == "3");
  CHECK(charts[1].excursions[0].label == "2");
  CHECK(charts[3].excursions.empty());
}

TEST_CASE("TheRoomAirIsDrawnBesideTheStackCore") {
  const auto charts = charts_of(tests::invented_facts());
  REQUIRE(charts[2].lines.size() == 2);
  CHECK_FALSE(charts[2].lines[0].context);
  CHECK(charts[2].lines[1].context);
}

TEST_CASE("AnotherProbeOfTheSameRoleSharesTheChart") {
  CertificateFacts facts = tests::invented_facts();
  facts.chart.series.push_back(facts.chart.series[3]);
  const auto charts = charts_of(facts);
  REQUIRE(charts.size() == 5);
  CHECK(charts[3].lines.size() == 2);
}

TEST_CASE("ARoleWithoutASeriesHasNoChart") {
  CertificateFacts facts = tests::invented_facts();
  std::erase_if(facts.chart.series,
                [](const ChartSeries& series) { return series.role == ChannelRole::slab_rh; });
  CHECK(charts_of(facts).size() == 4);
}

TEST_CASE("ImperialChartsAreInFahrenheit") {
  const auto metric = charts_of(tests::invented_facts());
  const auto imperial = charts_of(tests::invented_facts(), Units::imperial);
  CHECK(imperial[0].unit == "°F");
  CHECK(imperial[0].limit_low == Approx(62.6));
  CHECK(imperial[0].lines[0].buckets[0]->mean ==
        Approx(metric[0].lines[0].buckets[0]->mean * 1.8 + 32.0));
  CHECK(imperial[1].unit == "%RH");
  CHECK(imperial[1].lines[0].buckets[0]->mean == metric[1].lines[0].buckets[0]->mean);
}
