#include "analysis/base/time.hpp"

#include <catch2/catch.hpp>
#include <random>

#include "analysis/base/day_end.hpp"
#include "analysis/base/record.hpp"

using namespace analysis::base;

TEST_CASE("Rfc3339ExamplesOfTheStandardAreRead") {
  // RFC 3339 section 5.8 examples (the leap-second ones are refused by design).
  CHECK(utc_from_rfc3339("1985-04-12T23:20:50.52Z")->value == 482196050520000);
  CHECK(utc_from_rfc3339("1996-12-19T16:39:57-08:00") == utc_from_rfc3339("1996-12-20T00:39:57Z"));
  CHECK(utc_from_rfc3339("1937-01-01T12:00:27.87+00:20").has_value());
  CHECK_FALSE(utc_from_rfc3339("1990-12-31T23:59:60Z"));
}

TEST_CASE("TimesWithoutZoneOrWithImpossiblePartsAreRefused") {
  for (const char* text : {"2026-03-02T07:00:00", "2026-02-30T00:00:00Z", "2026-13-01T00:00:00Z",
                           "2026-03-02T24:00:00Z", "2026-03-02T07:00Z", "2026-03-02T07:00:00Zx",
                           "2026-03-02T07:00:00.1234567Z", "2026-03-02T07:00:00.Z",
                           "26-03-02T07:00:00Z", "", "2026-03-02T07:00:00+2:00"}) {
    INFO(text);
    CHECK_FALSE(utc_from_rfc3339(text));
  }
}

TEST_CASE("UtcTextRoundTrips") {
  const unsigned seed = 20261125;
  INFO("seed " << seed);
  std::mt19937_64 random(seed);
  std::uniform_int_distribution<std::int64_t> any(0, 4'102'444'800'000'000);
  for (int i = 0; i < 2000; ++i) {
    const UtcMicros at{any(random)};
    REQUIRE(utc_from_rfc3339(rfc3339_from_utc(at)) == at);
  }
  CHECK(rfc3339_from_utc(UtcMicros{0}) == "1970-01-01T00:00:00Z");
  CHECK(rfc3339_from_utc(UtcMicros{-1'000'000}) == "1969-12-31T23:59:59Z");
  CHECK(rfc3339_from_utc(UtcMicros{1'500'000}) == "1970-01-01T00:00:01.500Z");
}

TEST_CASE("DurationsReadWell") {
  CHECK(text_from_duration(Micros{41'000'000}) == "41 s");
  CHECK(text_from_duration(micros_from_hours(0.5)) == "30 min");
  CHECK(text_from_duration(micros_from_hours(47.2)) == "47 h 12 min");
  CHECK(text_from_duration(micros_from_hours(24)) == "24 h");
  CHECK(text_from_duration(micros_from_hours(76)) == "3 d 4 h");
  CHECK(minute_text_from_utc(UtcMicros{1'772'864'400'999'999}) == "2026-03-07 06:20 UTC");
}

TEST_CASE("ADayAloneIsShownAsADay") {
  const UtcMicros end = day_end_from(*utc_from_rfc3339("2026-01-15T00:00:00Z"));
  CHECK(end + Micros{1} == *utc_from_rfc3339("2026-01-16T00:00:00Z"));
  CHECK(day_or_minute_text(end) == "2026-01-15");
  CHECK(day_end_or_minute_text(end + micros_from_hours(24.0 * 60)) == "the end of 2026-03-16");
  // What older programs stored, and what somebody typed, is a time.
  CHECK(day_or_minute_text(end + Micros{1}) == "2026-01-16 00:00 UTC");
  CHECK_FALSE(is_day_end(end - Micros{1}));
}

TEST_CASE("RoleNamesRoundTrip") {
  for (int value = 1; value <= 9; ++value) {
    const auto role = static_cast<ChannelRole>(value);
    CHECK(role_from_name(name_of(role)) == role);
    CHECK(file_unit_of(role) != "unknown_unit");
  }
  CHECK_FALSE(role_from_name("room_air"));
  CHECK(name_of(ChannelStatus::open_circuit) == "open_circuit");
}
