// The parts an outlook is made from: thinned means, gaps, the core's time, charts in characters.
#include <catch2/catch.hpp>
#include <sstream>

#include "analysis/readiness/outlook/core_time.hpp"
#include "analysis/readiness/outlook/gap_outlook.hpp"
#include "analysis/readiness/outlook/slot_means.hpp"
#include "analysis/readiness/uncertainty/margin_uncertainty.hpp"
#include "logger/app/text/terminal_chart.hpp"
#include "logger/app/text/terminal_text.hpp"

using namespace analysis::readiness::outlook;
using namespace logger::app;
using analysis::base::Celsius;
using analysis::base::Metres;
using analysis::base::micros_from_hours;
using analysis::base::RelativeHumidity;
using analysis::base::UtcMicros;
using analysis::physics::FloorHold;
using analysis::physics::FloorRun;
using analysis::readiness::GateState;
using analysis::readiness::room::ExpectedTime;
using analysis::readiness::room::NoTime;

TEST_CASE("Slot means hold mean, extremes, mean time and coverage of their readings") {
  SlotMeans means(UtcMicros{0}, micros_from_hours(24), 10);
  means.add(UtcMicros{0} + micros_from_hours(1), 10.0);
  means.add(UtcMicros{0} + micros_from_hours(3), 20.0);
  means.add(UtcMicros{0} + micros_from_hours(30), 7.0);
  means.add(UtcMicros{0} + micros_from_hours(2), 99.0);  // of a slot before the newest
  const auto slots = means.slots();
  REQUIRE(slots.size() == 2);
  CHECK(slots[0].mean == 15.0);
  CHECK(slots[0].low == 10.0);
  CHECK(slots[0].high == 20.0);
  CHECK(slots[0].at == UtcMicros{0} + micros_from_hours(2));
  CHECK(slots[0].covered == Approx(2.0 / 24.0));
  CHECK(slots[1].number == 1);
  CHECK_FALSE(means.full());
  CHECK(mean_of_newest(slots, 5).value() == 11.0);
  CHECK(mean_of_newest(slots, 1).value() == 7.0);
  CHECK_FALSE(mean_of_newest({}, 3).has_value());
  CHECK_FALSE(mean_by_time({}).has_value());
  // Two hours of 15 and one of 7: (2 x 15 + 7) / 3.
  CHECK(mean_by_time(slots).value() == Approx(37.0 / 3.0));
  // 25 h: 24 of 50.038 %RH and one of 49.003: (24 x 50.038 + 49.003) / 25 = 49.9966.
  SlotMeans stub(UtcMicros{0}, micros_from_hours(24), 10);
  for (int hour = 0; hour < 25; ++hour) {
    stub.add(UtcMicros{0} + micros_from_hours(hour + 0.5), hour < 24 ? 50.038 : 49.003);
  }
  CHECK(mean_by_time(stub.slots()).value() == Approx(49.9966).epsilon(1e-9));
}

TEST_CASE("Slots before the origin have negative numbers; the oldest are let go") {
  SlotMeans means(UtcMicros{0}, micros_from_hours(1), 3);
  for (int hour = -3; hour < 2; ++hour) {
    means.add(UtcMicros{0} + micros_from_hours(hour), hour);
  }
  const auto slots = means.slots();
  REQUIRE(slots.size() == 3);
  CHECK(slots.front().number == -1);
  CHECK(slots.front().mean == -1.0);
  CHECK(slots.back().number == 1);
  CHECK(means.full());
}

TEST_CASE("A gap that is too small is short by what is missing, and equal parts fit") {
  // 7 m from 50 to 80 %RH at 0.0110 per RH grows 23.1 mm, 11.55 mm a side; 10 mm allow 6.06 m.
  // Source: product of the published limit (ANSI A208.2-2009 by a secondary summary) and the width.
  const GapQuestion question{FloorRun{Metres{7.0}},
                             Metres{0.010},
                             {RelativeHumidity{0.5}, RelativeHumidity{0.4}, RelativeHumidity{0.8}}};
  const auto answer = gap_answer_from(question).value();
  CHECK_FALSE(answer.fits);
  CHECK(answer.movement.gap_each_side.value() == Approx(0.01155));
  CHECK(answer.short_by.value() == Approx(0.00155));
  CHECK(answer.widest_run->value() == Approx(6.0606).epsilon(1e-4));
  CHECK(answer.joint_every->value() == Approx(3.5));
  GapQuestion part = question;
  part.run.width = *answer.joint_every;
  CHECK(gap_answer_from(part).value().fits);
  CHECK_FALSE(gap_answer_from(part).value().joint_every.has_value());
  part.gap_each_side = Metres{0.0};
  CHECK_FALSE(gap_answer_from(part).value().joint_every.has_value());  // no part fits
  const auto practice = joint_practice_from(analysis::physics::kPublishedMovementLimit).value();
  CHECK(practice.gap_needed.value() == Approx(0.01155));
  CHECK(practice.widest_run.value() == Approx(6.0606).epsilon(1e-4));
  CHECK_FALSE(joint_practice_from(analysis::base::MovementCoefficient{0.06}).has_value());
}

TEST_CASE("The core's time is never before now and never promises what is beyond the horizon") {
  const UtcMicros now{1'000'000'000'000};
  const auto hours = [](double h) { return std::optional(micros_from_hours(h)); };
  const auto time = [&](GateState gate, std::optional<UtcMicros> until,
                        std::optional<analysis::readiness::StackTimeToWarm> to_warm) {
    return core_time_from({gate, {}, {}, until, to_warm}, now);
  };
  CHECK(time(GateState::met, {}, {}).value() == ExpectedTime{now, now, now});
  CHECK(time(GateState::unknown, {}, {}).error() == NoTime::not_modelled);
  CHECK(time(GateState::unknown, now, {{hours(1), hours(2), {}}}).error() == NoTime::too_far_off);
  const UtcMicros earlier = now - micros_from_hours(1.5);
  CHECK(time(GateState::not_met, earlier, {{hours(1), hours(2), hours(3)}}).value() ==
        ExpectedTime{now, now + micros_from_hours(0.5), now + micros_from_hours(1.5)});
  CHECK(time(GateState::not_met, now, {{hours(3), hours(2), hours(1)}}).value() ==
        ExpectedTime{now + micros_from_hours(1), now + micros_from_hours(2),
                     now + micros_from_hours(3)});
}

TEST_CASE("The core's time never contradicts its gate") {
  const UtcMicros now{1'000'000'000'000};
  const auto hours = [](double h) { return std::optional(micros_from_hours(h)); };
  CoreKnown known{
      GateState::not_met, Celsius{15.6}, Celsius{17.0}, now, {{hours(0), hours(0), hours(0)}}};
  CHECK(core_time_from(known, now).error() == NoTime::room_too_cold);
  known.air = Celsius{17.0};  // what the gate asks is enough
  CHECK(core_time_from(known, now).error() == NoTime::core_disagrees);
  known.to_warm = {{hours(18), hours(14), hours(0)}};
  CHECK(core_time_from(known, now).value() ==
        ExpectedTime{now, now + micros_from_hours(14), now + micros_from_hours(18)});
  known.air = Celsius{15.6};
  known.lowest = std::nullopt;  // a computed core is asked for its distance only
  CHECK(core_time_from(known, now).has_value());
  known.lowest = Celsius{17.0};
  known.gate = GateState::met;
  CHECK(core_time_from(known, now).value() == ExpectedTime{now, now, now});
}

TEST_CASE("The margin above the dew point is as uncertain as surface and both air sensors") {
  using analysis::base::KelvinDelta;
  analysis::readiness::MarginKnown known{Celsius{20.0},
                                         RelativeHumidity{0.5},
                                         {KelvinDelta{0.2}, RelativeHumidity{0.02}},
                                         KelvinDelta{0.3}};
  // By hand at 20 deg C, 50 %RH (Magnus, 17.62 and 243.12 deg C; dew point 9.26 deg C):
  // 0.917 K/K and 0.298 K for 1 %RH. sqrt(0.3^2 + (0.917 * 0.2)^2 + (0.298 * 2)^2) = 0.69 K.
  CHECK(analysis::readiness::margin_uncertainty_from(known)->value() == Approx(0.69).margin(0.01));
  known.air_uncertainty.rh.reset();
  CHECK_FALSE(analysis::readiness::margin_uncertainty_from(known).has_value());
}

TEST_CASE("A chart in characters shows a rising line, its limit and round labels in 76 columns") {
  TerminalChart chart;
  chart.unit = "%RH";
  chart.span = {UtcMicros{0}, UtcMicros{0} + micros_from_hours(64)};
  TerminalLine line{"core", "●", {}};
  for (std::size_t i = 0; i < kChartColumns; ++i) {
    line.columns.emplace_back(70.0 + 0.2 * static_cast<double>(i));
  }
  chart.lines.push_back(line);
  chart.limit = TerminalLimit{"limit", 75.0};
  std::istringstream text(text_from_chart(chart));
  std::vector<std::string> lines;
  for (std::string each; std::getline(text, each);) {
    CHECK(columns_of(each) <= 76);
    lines.push_back(each);
  }
  REQUIRE(lines.size() == 1 + kChartRows + 3);
  CHECK(lines[1].starts_with("       85┤"));
  CHECK(lines[kChartRows].starts_with("       70┤●"));
  CHECK(lines.back() == "          ● core   ─ limit");
  std::size_t points = 0;
  for (const std::string& each : lines) {
    for (std::size_t at = each.find("●"); at != std::string::npos; at = each.find("●", at + 1)) {
      ++points;
    }
  }
  CHECK(points == kChartColumns + 1);  // one a column, and the key
}

TEST_CASE("A chart without values is nothing; a gap stays empty") {
  CHECK(text_from_chart({}).empty());
  TerminalChart chart;
  chart.lines.push_back({"a", "x", {20.0, std::nullopt, 20.0}});
  CHECK(text_from_chart(chart).find("x x") != std::string::npos);
}
