// Moist air, airing, room advice and water balance over the logs.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "analysis/physics/psychrometrics.hpp"
#include "analysis/readiness/room/room_advice.hpp"
#include "analysis/readiness/room/water_balance.hpp"
#include "tests/real_data/peer_air.hpp"
#include "tests/real_data/real_log.hpp"

using namespace analysis::physics;
using namespace analysis::readiness::room;
using namespace real_data;
using analysis::base::CubicMetres;
using analysis::readiness::ClimateBand;

namespace {

constexpr Pascal kSeaLevel{101'325.0};

const RoomLog& log_of(int index) {
  return index == 0   ? half_heated_house()
         : index == 1 ? weather_of_half_heated_house()
                      : heated_house();
}

Pascal vapour_of(const LogRow& row) {
  return vapour_pressure_from_rh(row.temperature(), row.rh()).value();
}

double share_of(std::int64_t count, std::size_t all) {
  return static_cast<double>(count) / static_cast<double>(all);
}

// Largest differences from the other formulas over a log.
struct AirDifferences {
  double dew_point_kelvin = 0.0;
  double humidity_ratio_share = 0.0;
  double absolute_humidity_share = 0.0;
  double wet_bulb_kj_per_kg = 0.0;
  int without_wet_bulb = 0;
  int out_of_order = 0;  // not dew point <= wet bulb <= dry bulb
};

void compare_wet_bulb(const LogRow& row, double dew_point, AirDifferences& worst) {
  const auto wet_bulb = wet_bulb_from_rh(row.temperature(), row.rh(), kSeaLevel);
  const double over_ice = peer_vapour_pa(row.celsius, row.percent_rh) / peer_ice_pa(row.celsius);
  if (!wet_bulb) {
    ++worst.without_wet_bulb;
    REQUIRE(wet_bulb.error() == DomainError::above_saturation);
    REQUIRE(row.celsius < 0.02);
    REQUIRE(over_ice > 0.997);
    return;
  }
  const double wet = wet_bulb.value().value();
  REQUIRE((row.celsius > 0.0 || over_ice < 1.003));
  worst.out_of_order += wet < dew_point - 2e-6 || wet > row.celsius + 2e-6 ? 1 : 0;
  worst.wet_bulb_kj_per_kg =
      std::max(worst.wet_bulb_kj_per_kg,
               std::abs(peer_wet_bulb_residual(row.celsius, row.percent_rh, wet, 101'325.0)));
}

void compare_row(const LogRow& row, AirDifferences& worst) {
  const auto dew_point = dew_point_from_rh(row.temperature(), row.rh());
  const auto ratio = humidity_ratio_from_vapour_pressure(vapour_of(row), kSeaLevel);
  const auto absolute = absolute_humidity_from_vapour_pressure(row.temperature(), vapour_of(row));
  REQUIRE((dew_point && ratio && absolute));
  const double vapour = peer_vapour_pa(row.celsius, row.percent_rh);
  const double dew = dew_point.value().value();
  // Saturation pressure rises by 6 to 10 % a kelvin here; the least of it gives the largest error.
  const double dew_by_pressure = std::log(peer_water_pa(dew) / vapour) / std::log(1.06);
  worst.dew_point_kelvin = std::max(worst.dew_point_kelvin, std::abs(dew_by_pressure));
  const double peer_ratio = peer_humidity_ratio(vapour, 101'325.0);
  worst.humidity_ratio_share =
      std::max(worst.humidity_ratio_share, std::abs(ratio.value().value() / peer_ratio - 1.0));
  const double peer_absolute = vapour * 0.018015 / (8.31446 * (row.celsius + 273.15));
  worst.absolute_humidity_share = std::max(worst.absolute_humidity_share,
                                           std::abs(absolute.value().value() / peer_absolute - 1));
  compare_wet_bulb(row, dew, worst);
}

}  // namespace

TEST_CASE("EveryReadingHasItsDewPointBelowItsWetBulbAndAgreesWithOtherFormulas") {
  for (int index = 0; index < 3; ++index) {
    const RoomLog& log = log_of(index);
    AirDifferences worst;
    for (const LogRow& row : log.rows) {
      compare_row(row, worst);
    }
    CAPTURE(log.name, worst.dew_point_kelvin, worst.humidity_ratio_share,
            worst.absolute_humidity_share, worst.wet_bulb_kj_per_kg, worst.without_wet_bulb);
    CHECK(worst.out_of_order == 0);
    CHECK(worst.dew_point_kelvin < 0.03);
    CHECK(worst.humidity_ratio_share < 0.003);
    CHECK(worst.absolute_humidity_share < 0.003);
    CHECK(worst.wet_bulb_kj_per_kg < 0.03);
    CHECK((worst.without_wet_bulb > 0) == (index == 1));
    std::vector<double> celsius, percent;
    for (const LogRow& row : log.rows) {
      celsius.push_back(row.celsius);
      percent.push_back(row.percent_rh);
    }
    note_figure("deg C " + log.name, spread_text(celsius, 1));
    note_figure("%RH " + log.name, spread_text(percent, 1));
    note_figure("air " + log.name,
                std::to_string(log.rows.size()) + " readings; dew point within " +
                    text_of(worst.dew_point_kelvin, 3) + " K, humidity ratio " +
                    text_of(100 * worst.humidity_ratio_share) + " %, absolute humidity " +
                    text_of(100 * worst.absolute_humidity_share) + " %, wet bulb residual " +
                    text_of(worst.wet_bulb_kj_per_kg, 3) + " kJ/kg; no wet bulb " +
                    std::to_string(worst.without_wet_bulb));
  }
}

TEST_CASE("AiringDriesExactlyWhereTheRoomHoldsMoreVapour") {
  const RoomLog& rooms = half_heated_house();
  const RoomLog& weather = weather_of_half_heated_house();
  REQUIRE(rooms.rows.size() == weather.rows.size());
  std::int64_t effects[4] = {};
  std::vector<double> excess;
  double worst_rh = 0.0;
  for (std::size_t i = 0; i < rooms.rows.size(); ++i) {
    const LogRow& room = rooms.rows[i];
    const LogRow& outdoors = weather.rows[i];
    REQUIRE(room.at == outdoors.at);
    const auto airing =
        airing_from({room.temperature(), room.rh()}, {outdoors.temperature(), outdoors.rh()});
    REQUIRE(airing.has_value());
    excess.push_back(vapour_of(room).value() - vapour_of(outdoors).value());
    const double outdoor_pa = peer_vapour_pa(outdoors.celsius, outdoors.percent_rh);
    const double in_room = 100.0 * outdoor_pa / peer_water_pa(room.celsius);
    const double difference = room.percent_rh - in_room;
    const AiringEffect effect = airing.value().effect;
    // The two saturation formulas differ by less than 0.3 %RH here.
    if (std::abs(std::abs(difference) - 2.0) > 0.3) {
      const AiringEffect expected = difference > 2.0    ? AiringEffect::dries
                                    : difference < -2.0 ? AiringEffect::wets
                                                        : AiringEffect::neither;
      REQUIRE(effect == expected);
    }
    if (airing.value().rh_in_room) {
      worst_rh =
          std::max(worst_rh, std::abs(percent_from_rh(*airing.value().rh_in_room) - in_room));
    } else {
      REQUIRE(in_room > 99.5);
    }
    ++effects[static_cast<int>(effect)];
  }
  CAPTURE(worst_rh);
  CHECK(worst_rh < 0.3);
  const std::size_t all = rooms.rows.size();
  note_figure("moisture excess, Pa", spread_text(excess, 0));
  note_figure("airing", "dries " + text_of(100 * share_of(effects[1], all), 1) + " %, wets " +
                            text_of(100 * share_of(effects[2], all), 1) + " %, neither " +
                            text_of(100 * share_of(effects[3], all), 1) + " %; RH in room within " +
                            text_of(worst_rh, 3) + " %RH");
}

TEST_CASE("TemperatureAloneIsSaidToDoExactlyWhereAScanFindsOne") {
  const ClimateBand band;
  for (const RoomLog* log : {&half_heated_house(), &heated_house()}) {
    std::int64_t possible = 0;
    std::int64_t too_dry = 0;
    std::int64_t too_damp = 0;
    for (const LogRow& row : log->rows) {
      const auto window = temperature_window_from(band, vapour_of(row));
      const double vapour = peer_vapour_pa(row.celsius, row.percent_rh);
      const double driest_use = vapour / (0.45 * peer_water_pa(17.0));
      const double dampest_use = vapour / (0.60 * peer_water_pa(23.0));
      if (std::abs(driest_use - 1.0) > 0.002 && std::abs(dampest_use - 1.0) > 0.002) {
        REQUIRE(window.has_value() == (driest_use >= 1.0 && dampest_use <= 1.0));
      }
      possible += window ? 1 : 0;
      too_dry += !window && window.error() == NoWindow::too_dry ? 1 : 0;
      too_damp += !window && window.error() == NoWindow::too_damp ? 1 : 0;
    }
    CHECK(possible + too_dry + too_damp == static_cast<std::int64_t>(log->rows.size()));
    note_figure("temperature alone, " + log->name,
                text_of(100 * share_of(possible, log->rows.size()), 1) + " % possible, " +
                    text_of(100 * share_of(too_dry, log->rows.size()), 1) + " % too dry, " +
                    text_of(100 * share_of(too_damp, log->rows.size()), 1) + " % too damp");
  }
}

TEST_CASE("AdviceInRealAirEndsInTheBand") {
  const ClimateBand band;
  const RoomLog& rooms = half_heated_house();
  std::int64_t kinds[7] = {};
  std::size_t asked = 0;
  for (std::size_t i = 0; i < rooms.rows.size(); i += 6) {
    const LogRow& room = rooms.rows[i];
    const LogRow& weather = weather_of_half_heated_house().rows[i];
    const auto advice = room_advice_from(
        band, {room.temperature(), room.rh(), Air{weather.temperature(), weather.rh()}});
    REQUIRE(advice.has_value());
    const std::vector<RoomStep>& steps = advice.value().steps;
    REQUIRE_FALSE(steps.empty());
    const RoomStep& last = steps.back();
    REQUIRE(last.rh.has_value());
    REQUIRE(last.temperature >= band.temperature_low);
    REQUIRE(last.temperature <= band.temperature_high);
    REQUIRE(*last.rh >= band.rh_low);
    REQUIRE(*last.rh <= band.rh_high);
    for (const RoomStep& step : steps) {
      ++kinds[static_cast<int>(step.kind)];
    }
    ++asked;
  }
  const auto percent = [&](StepKind kind) {
    return text_of(100 * share_of(kinds[static_cast<int>(kind)], asked), 1) + " %";
  };
  note_figure("advice, half-heated",
              "keep " + percent(StepKind::keep) + ", heat " + percent(StepKind::heat) + ", cool " +
                  percent(StepKind::cool) + ", humidify " + percent(StepKind::humidify) + ", dry " +
                  percent(StepKind::dry) + ", ventilate " + percent(StepKind::ventilate));
}

TEST_CASE("WaterADayIsThatOfTheAirThatLeaves") {
  const Air wanted{Celsius{20.0}, analysis::base::rh_from_percent(50.0)};
  const RoomOfAir room{CubicMetres{100.0}, kSeaLevel};
  const double wanted_pa = peer_vapour_pa(20.0, 50.0);
  const double dry_air = (101'325.0 - wanted_pa) / (287.042 * 293.15);
  const auto dry_air_water = [](const LogRow& row) {
    return peer_humidity_ratio(peer_vapour_pa(row.celsius, row.percent_rh), 101'325.0);
  };
  std::vector<double> low, high, once;
  for (std::size_t i = 0; i < half_heated_house().rows.size(); i += 6) {
    const LogRow& air = half_heated_house().rows[i];
    const LogRow& weather = weather_of_half_heated_house().rows[i];
    const auto balance = water_balance_from(room, {air.temperature(), air.rh()}, wanted,
                                            Air{weather.temperature(), weather.rh()});
    REQUIRE(balance.has_value());
    const WaterPerDay& steady = *balance.value().steady;
    const WaterOnce& at_once = balance.value().once;
    const double wanted_ratio = peer_humidity_ratio(wanted_pa, 101'325.0);
    const double lacking = wanted_ratio - dry_air_water(weather);
    // 0.3 % of the water in the wanted air, for the other saturation formula.
    const double margin = 0.003 * wanted_ratio;
    const double sign = steady.direction == WaterDirection::remove ? -1.0 : 1.0;
    REQUIRE(sign * steady.low.value() ==
            Approx(24 * 0.3 * 100 * dry_air * lacking).margin(24 * 0.3 * 100 * 1.2 * margin));
    REQUIRE(sign * steady.high.value() ==
            Approx(24 * 1.0 * 100 * dry_air * lacking).margin(24 * 100 * 1.2 * margin));
    const double once_sign = at_once.direction == WaterDirection::remove ? -1.0 : 1.0;
    REQUIRE(once_sign * at_once.air_alone.value() ==
            Approx(100 * dry_air * (wanted_ratio - dry_air_water(air))).margin(100 * 1.2 * margin));
    low.push_back(sign * steady.low.value());
    high.push_back(sign * steady.high.value());
    once.push_back(once_sign * at_once.air_alone.value());
  }
  note_figure("water l/d at 0.3 changes/h, 20 deg C 50 %RH, 100 m3", spread_text(low, 1));
  note_figure("water l/d at 1.0 changes/h", spread_text(high, 1));
  note_figure("water once, l", spread_text(once));
}
