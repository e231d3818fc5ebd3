#include "firmware-sim/sim/site/weather/weather.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <string>
#include <vector>

#include "firmware-sim/sim/site/weather/weather_record.hpp"

using namespace firmware::sim;
using namespace firmware::sim::site;
using analysis::base::Celsius;
using analysis::base::Micros;
using analysis::base::RelativeHumidity;
using analysis::base::utc_from_rfc3339;
using analysis::base::UtcMicros;

namespace {

constexpr const char* kThreeRows =
    "time_utc,temperature_celsius,rh_percent\n"
    "2026-03-02T07:00:00Z,-1.5,80\r\n"
    "2026-03-02T08:00:00Z,0.5,90\n"
    "2026-03-02T11:00:00Z,3.5,60";

UtcMicros utc(const char* text) { return utc_from_rfc3339(text).value(); }

// Share of the wander that is left after its memory.
double memory_left(const WeatherParameters& parameters) {
  Weather weather(parameters, UtcMicros{0});
  physics::Noise noise{3};
  const auto hours = static_cast<std::size_t>(parameters.wander_memory_h);
  std::vector<double> off;
  for (int hour = 1; hour <= 24 * 365 * 5; ++hour) {
    weather.advance(UtcMicros{hour * 3'600'000'000LL}, 3600.0, noise);
    off.push_back(weather.temperature().value() - parameters.mean_celsius);
  }
  double together = 0.0;
  double alone = 0.0;
  for (std::size_t i = hours; i < off.size(); ++i) {
    together += off[i] * off[i - hours];
    alone += off[i] * off[i];
  }
  return together / alone;
}

// Stationary figures of the synthetic weather, by a year of hours.
struct Moments {
  double mean = 0.0;
  double sd = 0.0;
};
Moments temperature_moments(const WeatherParameters& parameters) {
  Weather weather(parameters, UtcMicros{0});
  physics::Noise noise{3};
  double sum = 0.0;
  double squares = 0.0;
  constexpr int kHours = 24 * 365;
  for (int hour = 1; hour <= kHours; ++hour) {
    weather.advance(UtcMicros{hour * 3'600'000'000LL}, 3600.0, noise);
    sum += weather.temperature().value();
    squares += weather.temperature().value() * weather.temperature().value();
  }
  const double mean = sum / kHours;
  return {mean, std::sqrt(squares / kHours - mean * mean)};
}

}  // namespace

TEST_CASE("WeatherFileIsReadAndLinearBetweenItsRows") {
  const auto record = weather_from_csv(kThreeRows, "w.csv");
  REQUIRE(record.has_value());
  REQUIRE(record.value().size() == 3);
  const WeatherRow row = weather_at(record.value(), utc("2026-03-02T09:00:00Z"));
  CHECK(row.temperature.value() == Approx(1.5));
  CHECK(row.rh.value() == Approx(0.8));
  CHECK(weather_at(record.value(), utc("2026-03-02T08:00:00Z")).temperature == Celsius{0.5});
  CHECK(weather_at(record.value(), utc("2026-03-02T12:00:00Z")).temperature == Celsius{3.5});
  CHECK(weather_at(record.value(), utc("2026-03-02T06:00:00Z")).rh == RelativeHumidity{0.8});
}

TEST_CASE("FaultyWeatherFilesAreToldByLineAndValue") {
  struct Case {
    std::string text;
    std::string error;
  };
  const std::string heading = "time_utc,temperature_celsius,rh_percent\n";
  const std::string row = "2026-03-02T07:00:00Z,1,80\n";
  const Case cases[] = {
      {"", "w.csv line 1: ''; expected time_utc,temperature_celsius,rh_percent"},
      {"time,t,rh\n",
       "w.csv line 1: 'time,t,rh'; expected time_utc,temperature_celsius,rh_percent"},
      {heading + row, "w.csv: 1 rows of weather; expected 2 or more"},
      {heading + row + "2026-03-02T08:00:00Z,1\n",
       "w.csv line 3: '2026-03-02T08:00:00Z,1'; expected time_utc,temperature_celsius,rh_percent"},
      {heading + "2026-03-02 07:00,1,80\n",
       "w.csv line 2: time_utc '2026-03-02 07:00'; expected like 2026-03-02T07:00:00Z"},
      {heading + "2026-03-02T07:00:00Z,61,80\n",
       "w.csv line 2: temperature_celsius '61'; expected -60 to 60 degC"},
      {heading + "2026-03-02T07:00:00Z,nan,80\n",
       "w.csv line 2: temperature_celsius 'nan'; expected -60 to 60 degC"},
      {heading + "2026-03-02T07:00:00Z,1,100.1\n",
       "w.csv line 2: rh_percent '100.1'; expected 0 to 100 %RH"},
      {heading + "2026-03-02T07:00:00Z,1,80 \n",
       "w.csv line 2: rh_percent '80 '; expected 0 to 100 %RH"},
      {heading + row + row,
       "w.csv line 3: time_utc 2026-03-02T07:00:00Z; expected after 2026-03-02T07:00:00Z"},
      {heading + row + "\n", "w.csv line 3: ''; expected time_utc,temperature_celsius,rh_percent"},
  };
  for (const Case& c : cases) {
    const auto record = weather_from_csv(c.text, "w.csv");
    REQUIRE_FALSE(record.has_value());
    CHECK(record.error() == c.error);
  }
}

TEST_CASE("SiteThatLastsBeyondItsWeatherIsToldSo") {
  const auto record = weather_from_csv(kThreeRows, "w.csv").value();
  const auto from = utc("2026-03-02T07:00:00Z");
  const auto to = utc("2026-03-02T11:00:00Z");
  CHECK(check_covers(record, {from, to}, "w.csv").has_value());
  const std::string covers =
      "w.csv: covers 2026-03-02T07:00:00Z to 2026-03-02T11:00:00Z; expected ";
  const auto late = check_covers(record, {from, to + Micros{1'000'000}}, "w.csv");
  REQUIRE_FALSE(late.has_value());
  CHECK(late.error() == covers + "2026-03-02T07:00:00Z to 2026-03-02T11:00:01Z");
  CHECK_FALSE(check_covers(record, {from - Micros{1}, to}, "w.csv").has_value());
  CHECK_FALSE(check_covers({}, {from, to}, "w.csv").has_value());
}

TEST_CASE("WeatherFileThatIsNotThereIsToldByItsPath") {
  const auto record = weather_from_file("no-such-weather.csv");
  REQUIRE_FALSE(record.has_value());
  CHECK(record.error() ==
        "no-such-weather.csv: could not be read; expected a weather file with "
        "time_utc,temperature_celsius,rh_percent");
}

TEST_CASE("RecordTakesThePlaceOfTheSyntheticWeather") {
  WeatherParameters parameters;
  parameters.record = weather_from_csv(kThreeRows, "w.csv").value();
  physics::Noise noise{1};
  Weather weather(parameters, utc("2026-03-02T07:00:00Z"));
  CHECK(weather.temperature() == Celsius{-1.5});
  weather.advance(utc("2026-03-02T07:30:00Z"), 1800.0, noise);
  CHECK(weather.temperature().value() == Approx(-0.5));
  CHECK(weather.rh().value() == Approx(0.85));
}

TEST_CASE("SyntheticWeatherHasTheMomentsAskedFor") {
  WeatherParameters parameters;
  parameters.daily_swing_k = 0.0;
  // About 240 independent values of sd 1.5 in a year: the mean is within 0.1, 3 times that is 0.3.
  const Moments wander = temperature_moments(parameters);
  CHECK(wander.mean == Approx(3.0).margin(0.3));
  CHECK(wander.sd == Approx(1.5).margin(0.2));
  CHECK(memory_left(parameters) == Approx(std::exp(-1.0)).margin(0.1));
  parameters.daily_swing_k = 4.0;
  parameters.wander_k = 0.0;
  const Moments swing = temperature_moments(parameters);
  CHECK(swing.mean == Approx(3.0).margin(1e-6));
  CHECK(swing.sd == Approx(4.0 / std::sqrt(2.0)).margin(1e-6));
}
