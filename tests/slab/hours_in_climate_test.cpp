// Hours stated against hours logged. Series are invented.
#include "analysis/readiness/slab/hours_in_climate.hpp"

#include <catch2/catch.hpp>

using namespace analysis::readiness;
using analysis::base::Celsius;
using analysis::base::Micros;
using analysis::base::RelativeHumidity;
using analysis::base::UtcMicros;

namespace {

constexpr UtcMicros kFrom{1'772'352'000'000'000};  // 2026-03-01T08:00:00Z
constexpr Micros kHalfHour = std::chrono::minutes(30);

// A letter every half hour from kFrom on: i inside, o outside (30 %RH), _ no good value.
LoggedHours hours_of(const std::string& letters, Micros after = Micros{0},
                     Micros until = std::chrono::hours(1000)) {
  HoursInClimate hours({kFrom + after, kFrom + until}, ServiceClimate{}, std::chrono::minutes(45));
  UtcMicros at = kFrom;
  for (const char letter : letters) {
    if (letter == '_') {
      hours.add(at, std::nullopt, std::nullopt);
    } else {
      hours.add(at, Celsius{20}, RelativeHumidity{letter == 'i' ? 0.5 : 0.3});
    }
    at = at + kHalfHour;
  }
  return hours.logged();
}

}  // namespace

TEST_CASE("Time counts between two readings that say the same and lie near enough") {
  CHECK(hours_of("iii").inside == 2 * kHalfHour);
  CHECK(hours_of("iii").outside == Micros{0});
  CHECK(hours_of("ooo").outside == 2 * kHalfHour);
  // Between i and o nobody knows when it went out; a bad value is not known on both sides.
  CHECK(hours_of("iioo").inside == kHalfHour);
  CHECK(hours_of("iioo").outside == kHalfHour);
  CHECK(hours_of("ii_ii").inside == 2 * kHalfHour);
  CHECK(hours_of("").inside == Micros{0});
}

TEST_CASE("Only the stretch asked for counts, to the second") {
  CHECK(hours_of("iiiii", std::chrono::minutes(10), std::chrono::minutes(100)).inside ==
        std::chrono::minutes(90));
  CHECK(hours_of("iii", std::chrono::hours(2)).inside == Micros{0});
}

TEST_CASE("Readings farther apart than the longest interval leave unknown time") {
  HoursInClimate hours({kFrom, kFrom + std::chrono::hours(9)}, ServiceClimate{},
                       std::chrono::minutes(45));
  hours.add(kFrom, Celsius{20}, RelativeHumidity{0.5});
  hours.add(kFrom + std::chrono::minutes(46), Celsius{20}, RelativeHumidity{0.5});
  CHECK(hours.logged().inside == Micros{0});
  // One value known to be outside is enough; one known inside is not.
  hours.add(kFrom + std::chrono::minutes(60), Celsius{30}, std::nullopt);
  hours.add(kFrom + std::chrono::minutes(90), Celsius{30}, std::nullopt);
  hours.add(kFrom + std::chrono::minutes(120), Celsius{20}, std::nullopt);
  hours.add(kFrom + std::chrono::minutes(150), Celsius{20}, std::nullopt);
  CHECK(hours.logged().outside == kHalfHour);
  CHECK(hours.logged().inside == Micros{0});
}

TEST_CASE("The log contradicts stated hours only where fewer than nine tenths can be left") {
  using std::chrono::hours;
  const auto outside = [](int count) { return LoggedHours{Micros{0}, hours(count)}; };
  CHECK_FALSE(contradicts(outside(0), hours(48), hours(48)));  // nothing logged: believed
  CHECK_FALSE(contradicts(outside(4), hours(48), hours(48)));  // 44 of 43.2 h
  CHECK(contradicts(outside(5), hours(48), hours(48)));        // 43 h
  CHECK_FALSE(contradicts(outside(40), hours(100), hours(48)));
  CHECK(contradicts(outside(57), hours(100), hours(48)));
}
