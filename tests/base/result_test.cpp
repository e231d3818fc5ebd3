#include "analysis/base/result.hpp"

#include <catch2/catch.hpp>
#include <memory>
#include <string>
#include <type_traits>

#include "analysis/base/units.hpp"

using namespace analysis::base;

TEST_CASE("ResultHoldsAValueOrItsError") {
  const Result<int, std::string> good = 7;
  REQUIRE(good);
  CHECK(good.value() == 7);
  const Result<int, std::string> bad = Failure{std::string("too cold")};
  REQUIRE_FALSE(bad);
  CHECK(bad.error() == "too cold");
  CHECK(bad.value_or(3) == 3);
}

TEST_CASE("ResultMovesWhatCannotBeCopied") {
  Result<std::unique_ptr<int>, int> held = std::make_unique<int>(4);
  CHECK(*std::move(held).value() == 4);
}

TEST_CASE("VoidResultIsDoneOrFailed") {
  const Result<void, int> done;
  CHECK(done.has_value());
  const Result<void, int> failed = Failure{5};
  CHECK(failed.error() == 5);
}

TEST_CASE("UnitsNeitherMixNorConvertSilently") {
  STATIC_REQUIRE_FALSE(std::is_convertible_v<double, Celsius>);
  STATIC_REQUIRE_FALSE(std::is_convertible_v<Celsius, Pascal>);
  STATIC_REQUIRE_FALSE(std::is_constructible_v<Celsius, KelvinDelta>);
  CHECK((Celsius{20.5} - Celsius{18.0}).value() == Approx(2.5));
  CHECK(fahrenheit_from_celsius(Celsius{-40.0}) == Approx(-40.0));
  CHECK(percent_from_rh(rh_from_percent(47.5)) == Approx(47.5));
  CHECK(kelvin_from_celsius(Celsius{0.0}) == Approx(273.15));
}
