#include "analysis/readiness/room/room_advice.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

#include "analysis/physics/psychrometrics.hpp"

using namespace analysis::readiness;
using namespace analysis::readiness::room;
using analysis::base::Pascal;
using analysis::base::rh_from_percent;
using analysis::physics::DomainError;

namespace {

constexpr double kRounding = 1e-9;
const ClimateBand kBand{};  // 17..23 deg C, 45..60 %RH

double saturation_pa(double celsius) {
  return analysis::physics::saturation_pressure_over_water(Celsius{celsius}).value().value();
}
Pascal vapour_with_dew_point(double celsius) { return Pascal{saturation_pa(celsius)}; }

Air air_from(double celsius, double percent) {
  return {Celsius{celsius}, rh_from_percent(percent)};
}

RoomAdvice advice_for(const Air& air, const std::optional<Air>& outdoors = std::nullopt,
                      const ClimateBand& band = kBand) {
  return room_advice_from(band, {air.temperature, air.rh, outdoors}).value();
}

bool is_in(const ClimateBand& band, double celsius, double rh) {
  return celsius >= band.temperature_low.value() - kRounding &&
         celsius <= band.temperature_high.value() + kRounding &&
         rh >= band.rh_low.value() - kRounding && rh <= band.rh_high.value() + kRounding;
}

std::vector<StepKind> kinds_of(const RoomAdvice& advice) {
  std::vector<StepKind> kinds;
  for (const RoomStep& step : advice.steps) {
    kinds.push_back(step.kind);
  }
  return kinds;
}

bool has(const RoomAdvice& advice, StepKind kind) {
  const auto kinds = kinds_of(advice);
  return std::find(kinds.begin(), kinds.end(), kind) != kinds.end();
}

// Does to the air what a step may do and nothing else; checks that the step promises just that.
struct FollowedRoom {
  double celsius;
  double vapour_pa;
  std::optional<double> outdoor_vapour_pa;

  void follow(const RoomStep& step) {
    const double to = step.temperature.value();
    REQUIRE(step.rh.has_value());
    const double promised_pa = step.rh->value() * saturation_pa(to);
    switch (step.kind) {
      case StepKind::keep:
        REQUIRE(to == celsius);
        REQUIRE(promised_pa == Approx(vapour_pa));
        break;
      case StepKind::heat:
        REQUIRE(to > celsius);
        REQUIRE(promised_pa == Approx(vapour_pa));
        break;
      case StepKind::cool:
        REQUIRE(to < celsius);
        REQUIRE(promised_pa == Approx(vapour_pa));
        break;
      case StepKind::humidify:
        REQUIRE(to == celsius);
        REQUIRE(promised_pa > vapour_pa);
        break;
      case StepKind::dry:
        REQUIRE(to == celsius);
        REQUIRE(promised_pa < vapour_pa);
        break;
      case StepKind::ventilate:
        REQUIRE(to == celsius);
        REQUIRE(outdoor_vapour_pa.has_value());
        REQUIRE(promised_pa >= std::min(vapour_pa, *outdoor_vapour_pa) * (1.0 - kRounding));
        REQUIRE(promised_pa <= std::max(vapour_pa, *outdoor_vapour_pa) * (1.0 + kRounding));
        REQUIRE(std::abs(promised_pa - vapour_pa) > 1e-6);
        break;
    }
    celsius = to;
    vapour_pa = promised_pa;
    REQUIRE(vapour_pa <= saturation_pa(celsius) * (1.0 + kRounding));
  }
};

void require_advice_leads_into(const ClimateBand& band, const Air& air,
                               const std::optional<Air>& outdoors) {
  const RoomAdvice advice = advice_for(air, outdoors, band);
  CAPTURE(air.temperature.value(), air.rh.value());
  CAPTURE(outdoors ? outdoors->temperature.value() : -99.0, outdoors ? outdoors->rh.value() : -1.0);
  REQUIRE_FALSE(advice.steps.empty());
  REQUIRE(advice.in_band == has(advice, StepKind::keep));
  REQUIRE((!has(advice, StepKind::keep) || advice.steps.size() == 1));
  REQUIRE_FALSE((has(advice, StepKind::heat) && has(advice, StepKind::cool)));
  REQUIRE_FALSE((has(advice, StepKind::humidify) && has(advice, StepKind::dry)));
  auto kinds = kinds_of(advice);
  std::sort(kinds.begin(), kinds.end());
  REQUIRE(std::adjacent_find(kinds.begin(), kinds.end()) == kinds.end());

  FollowedRoom room{air.temperature.value(),
                    air.rh.value() * saturation_pa(air.temperature.value()), std::nullopt};
  if (outdoors) {
    room.outdoor_vapour_pa = outdoors->rh.value() * saturation_pa(outdoors->temperature.value());
  }
  for (const RoomStep& step : advice.steps) {
    room.follow(step);
  }
  REQUIRE(is_in(band, room.celsius, room.vapour_pa / saturation_pa(room.celsius)));
}

}  // namespace

TEST_CASE("TemperatureWindowAgreesWithWorkedValues") {
  // Dew point 10 deg C, band 17..23 deg C and 45..60 %RH. Source: worked by hand with the Magnus
  // formula, 17.88..22.53; Hyland-Wexler gives 17.864 and 22.514 (evaluated in Python), so the
  // worked values hold within 0.02 K.
  const auto window = temperature_window_from(kBand, vapour_with_dew_point(10.0));
  REQUIRE(window.has_value());
  CHECK(window.value().low.value() == Approx(17.88).margin(0.02));
  CHECK(window.value().high.value() == Approx(22.53).margin(0.02));
  CHECK(window.value().low.value() == Approx(17.86371).margin(1e-4));
  CHECK(window.value().high.value() == Approx(22.51436).margin(1e-4));
}

TEST_CASE("NoTemperatureOfTheBandHelpsAirThatIsTooDryOrTooDamp") {
  CHECK(temperature_window_from(kBand, vapour_with_dew_point(2.0)).error() == NoWindow::too_dry);
  CHECK(temperature_window_from(kBand, vapour_with_dew_point(15.0)).error() == NoWindow::too_damp);
  CHECK(temperature_window_from(kBand, Pascal{0.0}).error() == NoWindow::too_dry);
  // Reachable dew points 4.97..14.81 deg C by the Magnus formula, 4.9933..14.8245 by Hyland-Wexler.
  CHECK(temperature_window_from(kBand, vapour_with_dew_point(4.9932)).error() == NoWindow::too_dry);
  CHECK(temperature_window_from(kBand, vapour_with_dew_point(4.9934)).has_value());
  CHECK(temperature_window_from(kBand, vapour_with_dew_point(14.8244)).has_value());
  CHECK(temperature_window_from(kBand, vapour_with_dew_point(14.8246)).error() ==
        NoWindow::too_damp);
}

TEST_CASE("TemperatureWindowHoldsExactlyTheTemperaturesThatWork") {
  for (double dew = -20.0; dew <= 30.0; dew += 0.5) {
    const auto window = temperature_window_from(kBand, vapour_with_dew_point(dew));
    for (double t = 16.0; t <= 24.0; t += 0.1) {
      const double rh = saturation_pa(dew) / saturation_pa(t);
      const bool works = t >= 17.0 && t <= 23.0 && rh >= 0.45 && rh <= 0.60;
      const bool listed =
          window && t >= window.value().low.value() && t <= window.value().high.value();
      INFO("dew point " << dew << ", temperature " << t);
      REQUIRE(listed == works);
    }
  }
}

TEST_CASE("TemperatureWindowMovesUpWithTheVapour") {
  double low = 0.0;
  double high = 0.0;
  for (double dew = 5.0; dew <= 14.8; dew += 0.1) {
    const auto window = temperature_window_from(kBand, vapour_with_dew_point(dew));
    REQUIRE(window.has_value());
    CHECK(window.value().low.value() >= low);
    CHECK(window.value().high.value() >= high);
    low = window.value().low.value();
    high = window.value().high.value();
  }
  CHECK(low == Approx(23.0).margin(0.03));
  CHECK(high == 23.0);
}

TEST_CASE("OpenRhBandLeavesTheWholeTemperatureBand") {
  const ClimateBand open{Celsius{17.0}, Celsius{23.0}, RelativeHumidity{0.0},
                         RelativeHumidity{1.0}};
  const auto window = temperature_window_from(open, Pascal{0.0});
  REQUIRE(window.has_value());
  CHECK(window.value().low == Celsius{17.0});
  CHECK(window.value().high == Celsius{23.0});
}

TEST_CASE("OutdoorAirIsBroughtToRoomTemperature") {
  // 0 deg C at 80 % is 489.0 Pa, in a room of 20 deg C 20.9 %RH.
  const auto winter = airing_from(air_from(20.0, 50.0), air_from(0.0, 80.0)).value();
  CHECK(winter.effect == AiringEffect::dries);
  CHECK(winter.rh_in_room->value() == Approx(0.8 * 611.213 / 2338.804).epsilon(1e-5));
  const auto summer = airing_from(air_from(20.0, 50.0), air_from(25.0, 70.0)).value();
  CHECK(summer.effect == AiringEffect::wets);
  CHECK(summer.rh_in_room->value() == Approx(0.9486).margin(0.001));
  const auto tropical = airing_from(air_from(18.0, 50.0), air_from(28.0, 90.0)).value();
  CHECK(tropical.effect == AiringEffect::wets);
  CHECK_FALSE(tropical.rh_in_room.has_value());
  // Saturated air at 10 deg C beside 20 deg C and 53 %RH: 52.5 % there, less than can be told.
  const auto mild = airing_from(air_from(20.0, 53.0), air_from(10.0, 100.0)).value();
  CHECK(mild.effect == AiringEffect::neither);
  CHECK(mild.rh_in_room->value() == Approx(0.525).margin(0.001));
}

TEST_CASE("FullyRhAirOutdoorsCanStillDryTheRoom") {
  // What misleads on site: 5 deg C and rain outside dries a room of 20 deg C and 65 %.
  CHECK(airing_from(air_from(20.0, 65.0), air_from(5.0, 100.0)).value().effect ==
        AiringEffect::dries);
}

TEST_CASE("EachSituationHasItsSteps") {
  using K = std::vector<StepKind>;
  CHECK(kinds_of(advice_for(air_from(20.0, 50.0))) == K{StepKind::keep});
  // Ends of the band belong to it.
  CHECK(kinds_of(advice_for(air_from(17.0, 45.0))) == K{StepKind::keep});
  CHECK(kinds_of(advice_for({Celsius{23.0}, RelativeHumidity{0.60}})) == K{StepKind::keep});
  // Dew point about 9.8 deg C: heating alone.
  CHECK(kinds_of(advice_for(air_from(15.0, 71.0))) == K{StepKind::heat});
  CHECK(kinds_of(advice_for(air_from(26.0, 40.0))) == K{StepKind::cool});
  // In the temperature band, yet a warmer place in it is dry enough.
  CHECK(kinds_of(advice_for(air_from(18.0, 66.0))) == K{StepKind::heat});
  CHECK(kinds_of(advice_for(air_from(20.0, 30.0))) == K{StepKind::humidify});
  CHECK(kinds_of(advice_for(air_from(20.0, 75.0))) == K{StepKind::dry});
  CHECK(kinds_of(advice_for(air_from(10.0, 40.0))) == K{StepKind::heat, StepKind::humidify});
  CHECK(kinds_of(advice_for(air_from(16.0, 95.0))) == K{StepKind::heat, StepKind::dry});
  CHECK(kinds_of(advice_for(air_from(28.0, 20.0))) == K{StepKind::cool, StepKind::humidify});
  CHECK(kinds_of(advice_for(air_from(28.0, 70.0))) == K{StepKind::dry, StepKind::cool});
}

TEST_CASE("AiringIsAdvisedOnlyWhereOutdoorAirHelps") {
  using K = std::vector<StepKind>;
  const Air damp = air_from(20.0, 75.0);
  const Air dry = air_from(20.0, 30.0);
  const Air winter = air_from(0.0, 80.0);
  const Air summer = air_from(25.0, 70.0);
  CHECK(kinds_of(advice_for(damp, winter)) == K{StepKind::ventilate});
  CHECK(kinds_of(advice_for(damp, summer)) == K{StepKind::dry});
  CHECK(kinds_of(advice_for(dry, summer)) == K{StepKind::ventilate});
  CHECK(kinds_of(advice_for(dry, winter)) == K{StepKind::humidify});
  // Air of 15 deg C at 95 % is 69 % here: drier than the room, not dry enough.
  const RoomAdvice partly = advice_for(damp, air_from(15.0, 95.0));
  CHECK(kinds_of(partly) == K{StepKind::ventilate, StepKind::dry});
  CHECK(partly.steps[0].rh->value() == Approx(0.6927).margin(0.001));
  // 73.9 % here: within what can be told, so no airing.
  CHECK(kinds_of(advice_for(damp, air_from(15.2, 100.0))) == K{StepKind::dry});
}

TEST_CASE("StepsAimInsideTheBand") {
  // A quarter of 15 %RH inside 45..60, a quarter of 6 K inside 17..23.
  CHECK(advice_for(air_from(20.0, 30.0)).steps.back().rh->value() == Approx(0.4875));
  CHECK(advice_for(air_from(20.0, 75.0)).steps.back().rh->value() == Approx(0.5625));
  CHECK(advice_for(air_from(10.0, 40.0)).steps.back().temperature.value() == Approx(18.5));
  CHECK(advice_for(air_from(28.0, 20.0)).steps.back().temperature.value() == Approx(21.5));
}

TEST_CASE("FollowingTheAdvicePutsTheAirInItsBand") {
  for (double t = -5.0; t <= 40.0; t += 1.5) {
    for (double percent = 0.0; percent <= 100.0; percent += 5.0) {
      require_advice_leads_into(kBand, air_from(t, percent), std::nullopt);
      for (double outdoor_t = -20.0; outdoor_t <= 35.0; outdoor_t += 11.0) {
        for (const double outdoor_percent : {20.0, 60.0, 100.0}) {
          require_advice_leads_into(kBand, air_from(t, percent),
                                    air_from(outdoor_t, outdoor_percent));
        }
      }
    }
  }
}

TEST_CASE("FollowingTheAdviceWorksForAnyBand") {
  constexpr unsigned kSeed = 20261;
  std::mt19937 random(kSeed);
  INFO("seed " << kSeed);
  std::uniform_real_distribution<double> share(0.0, 1.0);
  for (int i = 0; i < 3000; ++i) {
    const double low = 5.0 + 20.0 * share(random);
    const double rh_low = 0.8 * share(random);
    const ClimateBand band{Celsius{low}, Celsius{low + 8.0 * share(random)},
                           RelativeHumidity{rh_low},
                           RelativeHumidity{rh_low + (1.0 - rh_low) * share(random)}};
    const Air air = air_from(-10.0 + 50.0 * share(random), 100.0 * share(random));
    const Air outdoors = air_from(-25.0 + 60.0 * share(random), 100.0 * share(random));
    require_advice_leads_into(band, air, i % 3 == 0 ? std::nullopt : std::optional(outdoors));
  }
}

TEST_CASE("WhatIsNotKnownIsNotAdvised") {
  const RoomAdvice cold = room_advice_from(kBand, {Celsius{12.0}, std::nullopt, {}}).value();
  CHECK(cold.in_band == false);
  REQUIRE(cold.steps.size() == 1);
  CHECK(cold.steps[0].kind == StepKind::heat);
  CHECK(cold.steps[0].temperature.value() == Approx(18.5));
  CHECK_FALSE(cold.steps[0].rh.has_value());
  CHECK_FALSE(cold.by_temperature_alone.has_value());

  const RoomAdvice warm = room_advice_from(kBand, {Celsius{20.0}, std::nullopt, {}}).value();
  CHECK_FALSE(warm.in_band.has_value());
  CHECK(warm.steps.empty());
  const RoomAdvice dry = room_advice_from(kBand, {std::nullopt, RelativeHumidity{0.3}, {}}).value();
  CHECK(dry.in_band == false);
  CHECK(dry.steps.empty());
  const RoomAdvice nothing = room_advice_from(kBand, {}).value();
  CHECK_FALSE(nothing.in_band.has_value());
  CHECK(nothing.steps.empty());
  CHECK_FALSE(advice_for(air_from(20.0, 75.0)).airing.has_value());
}

TEST_CASE("RoomAdviceOutsideTheDomainIsAnError") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  CHECK(room_advice_from(kBand, {Celsius{-60.0}, RelativeHumidity{0.5}, {}}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(room_advice_from(kBand, {Celsius{20.0}, RelativeHumidity{1.2}, {}}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(room_advice_from(kBand, {Celsius{20.0}, RelativeHumidity{nan}, {}}).error() ==
        DomainError::rh_out_of_domain);
  CHECK(room_advice_from(kBand, {Celsius{20.0}, RelativeHumidity{0.5}, air_from(20.0, 120.0)})
            .error() == DomainError::rh_out_of_domain);
  ClimateBand hot = kBand;
  hot.temperature_high = Celsius{300.0};
  CHECK(room_advice_from(hot, {Celsius{20.0}, RelativeHumidity{0.2}, {}}).error() ==
        DomainError::temperature_out_of_domain);
  CHECK(temperature_window_from(hot, Pascal{1000.0}).error() == NoWindow::out_of_domain);
  CHECK(temperature_window_from(kBand, Pascal{-1.0}).error() == NoWindow::out_of_domain);
  CHECK(temperature_window_from(kBand, Pascal{nan}).error() == NoWindow::out_of_domain);
  CHECK(airing_from(air_from(20.0, 50.0), air_from(-50.0, 50.0)).error() ==
        DomainError::temperature_out_of_domain);
}
