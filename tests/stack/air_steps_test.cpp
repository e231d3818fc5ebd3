#include "analysis/readiness/stack/air_steps.hpp"

#include <catch2/catch.hpp>
#include <vector>

using namespace analysis::readiness;

namespace {

constexpr UtcMicros kBegin{1'700'000'000'000'000};
constexpr Micros kLongest{2'700'000'000};

TemperatureReading reading(double seconds, double celsius) {
  return {kBegin + Micros{static_cast<std::int64_t>(seconds * 1e6)}, Celsius{celsius}};
}

std::vector<AirStep> steps_of(const std::vector<TemperatureReading>& readings) {
  AirPath path = air_path_from(kBegin);
  std::vector<AirStep> steps;
  for (const TemperatureReading& r : readings) {
    add_air(path, r, kLongest);
    while (const auto step = next_step(path, kLongest)) {
      steps.push_back(*step);
    }
  }
  return steps;
}

}  // namespace

TEST_CASE("AStepHasTheMeanAndTheFirstMomentOfTheAir") {
  // By hand: 0 to 9 deg C in 300 s, then 600 s at 9: integral 6750 K s, moment 3 510 000 K s2; the
  // line from 4 to 11 has both.
  const auto steps = steps_of({reading(0, 0.0), reading(300, 9.0), reading(900, 9.0)});
  REQUIRE(steps.size() == 1);
  CHECK(steps[0].from == kBegin);
  CHECK(steps[0].duration == Micros{900'000'000});
  CHECK(steps[0].mean.value() == Approx(7.5));
  CHECK(steps[0].air_from.value() == Approx(4.0));
  CHECK(steps[0].air_to.value() == Approx(11.0));
  CHECK(steps[0].unknown == Micros{0});
}

TEST_CASE("AStraightLineStaysOneHoweverItIsRead") {
  const auto line = [](double seconds) { return 2.0 + seconds / 450.0; };
  for (const double apart : {7.0, 60.0, 301.0, 900.0, 2600.0}) {
    std::vector<TemperatureReading> readings;
    for (double s = 0.0; s <= 9000.0 + apart; s += apart) {
      readings.push_back(reading(s, line(s)));
    }
    const auto steps = steps_of(readings);
    REQUIRE(steps.size() >= 10);
    for (std::size_t i = 0; i < steps.size(); ++i) {
      CAPTURE(apart, i);
      CHECK(steps[i].from == kBegin + static_cast<std::int64_t>(i) * Micros{900'000'000});
      CHECK(steps[i].air_from.value() == Approx(line(900.0 * static_cast<double>(i))).margin(1e-9));
      CHECK(steps[i].air_to.value() ==
            Approx(line(900.0 * static_cast<double>(i + 1))).margin(1e-9));
      CHECK(steps[i].unknown == Micros{0});
    }
  }
}

TEST_CASE("UnknownTimeIsCountedInTheStepsItLiesIn") {
  const auto steps = steps_of({reading(0, 10.0), reading(450, 10.0), reading(3600, 10.0)});
  REQUIRE(steps.size() == 4);
  CHECK(steps[0].unknown == Micros{450'000'000});
  CHECK(steps[3].unknown == Micros{900'000'000});
}

TEST_CASE("TheOpenStepHoldsWhatWasReadSoFar") {
  AirPath path = air_path_from(kBegin);
  CHECK_FALSE(open_step(path).has_value());
  add_air(path, reading(-60, 4.0), kLongest);
  CHECK_FALSE(next_step(path, kLongest).has_value());
  CHECK_FALSE(open_step(path).has_value());
  add_air(path, reading(60, 8.0), kLongest);
  CHECK_FALSE(next_step(path, kLongest).has_value());
  const auto open = open_step(path);
  REQUIRE(open.has_value());
  CHECK(open->duration == Micros{60'000'000});
  CHECK(open->air_from.value() == Approx(6.0));
  CHECK(open->air_to.value() == Approx(8.0));
}

TEST_CASE("ReadingsLongBeforeThePathAreLeftOut") {
  AirPath path = air_path_from(kBegin);
  add_air(path, reading(-2701, 4.0), kLongest);
  CHECK_FALSE(path.latest.has_value());
  add_air(path, reading(-2700, 4.0), kLongest);
  CHECK(path.latest.has_value());
}
