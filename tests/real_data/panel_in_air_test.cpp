// What wood, board and floor would have done in the air of the logs.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>

#include "analysis/physics/panel/board_moisture.hpp"
#include "analysis/physics/panel/moisture_uptake.hpp"
#include "analysis/physics/panel/movement.hpp"
#include "analysis/physics/panel/wood_moisture.hpp"
#include "tests/real_data/peer_air.hpp"
#include "tests/real_data/real_log.hpp"

using namespace analysis::physics;
using namespace real_data;
using analysis::base::micros_from_hours;
using analysis::base::percent_from_rh;
using analysis::base::rh_from_percent;

namespace {

// The same equation with the coefficients printed for deg F, Wood Handbook eq. 4-5 (from memory).
double peer_emc_percent(double celsius, double percent_rh) {
  const double t = celsius * 1.8 + 32.0;
  const double h = percent_rh / 100.0;
  const double w = 330.0 + 0.452 * t + 0.00415 * t * t;
  const double k = 0.791 + 4.63e-4 * t - 8.44e-7 * t * t;
  const double k1 = 6.34 + 7.75e-4 * t - 9.35e-5 * t * t;
  const double k2 = 1.09 + 2.84e-2 * t - 9.04e-5 * t * t;
  const double kh = k * h;
  return 1800.0 / w *
         (kh / (1 - kh) + (k1 * kh + 2 * k1 * k2 * kh * kh) / (1 + k1 * kh + k1 * k2 * kh * kh));
}

double emc_percent(double celsius, double percent_rh) {
  return 100.0 * wood_emc_from_rh(Celsius{celsius}, rh_from_percent(percent_rh)).value().value();
}

std::string range_text(const std::vector<double>& values, int decimals) {
  return text_of(quantile(values, 0.0), decimals) + " to " +
         text_of(quantile(values, 1.0), decimals);
}

constexpr double kRounding = 1e-9;

// The rest of a log from one day on.
struct Rest {
  double lowest = 100.0;
  double highest = 0.0;
};
Rest rest_from(const std::vector<Day>& days, std::size_t first) {
  Rest rest;
  for (std::size_t i = first; i < days.size(); ++i) {
    rest.lowest = std::min(rest.lowest, days[i].mean_percent_rh);
    rest.highest = std::max(rest.highest, days[i].mean_percent_rh);
  }
  return rest;
}

constexpr Metres kRunWidth{7.0};
constexpr Metres kCustomaryGap{0.010};

// One floor laid on each day of the log with panels of that day's mean RH.
struct Floors {
  std::vector<double> gap_mm;
  std::vector<double> shrinkage_mm;
  int fits = 0;
};
Floors floors_of(const std::vector<Day>& days, MovementCoefficient coefficient) {
  Floors floors;
  const FloorRun run{kRunWidth, FloorHold::free_both_sides, coefficient};
  for (std::size_t i = 0; i < days.size(); ++i) {
    const double laid = days[i].mean_percent_rh;
    const Rest rest = rest_from(days, i);
    const ServiceHumidity service{rh_from_percent(laid), rh_from_percent(rest.lowest),
                                  rh_from_percent(rest.highest)};
    const auto movement = floor_movement_from_rh(run, service);
    const auto joint = needs_joint(run, kCustomaryGap, service);
    REQUIRE((movement && joint));
    const double gap = 1e3 * movement.value().gap_each_side.value();
    const double per_percent = 7000.0 * coefficient.value() / 100.0;  // mm of the whole run
    REQUIRE(gap == Approx(0.5 * per_percent * (rest.highest - laid)).margin(kRounding));
    REQUIRE(1e3 * movement.value().shrinkage.value() ==
            Approx(per_percent * (laid - rest.lowest)).margin(kRounding));
    REQUIRE(joint.value() == gap > 10.0);
    floors.gap_mm.push_back(gap);
    floors.shrinkage_mm.push_back(1e3 * movement.value().shrinkage.value());
    floors.fits += gap <= 10.0 ? 1 : 0;
  }
  return floors;
}

}  // namespace

TEST_CASE("WoodMoistureOfRealAirAgreesWithTheOtherCoefficients") {
  for (const RoomLog* log : {&half_heated_house(), &heated_house()}) {
    std::vector<double> emc;
    double worst = 0.0;
    for (const LogRow& row : log->rows) {
      emc.push_back(emc_percent(row.celsius, row.percent_rh));
      worst = std::max(worst, std::abs(emc.back() - peer_emc_percent(row.celsius, row.percent_rh)));
    }
    CAPTURE(log->name, worst);
    CHECK(worst < 0.02);
    note_figure("wood EMC " + log->name,
                range_text(emc, 1) + " %; other coefficients within " + text_of(worst, 3));
  }
}

TEST_CASE("BoardFollowsWoodByItsSharesDayByDay") {
  for (const RoomLog* log : {&half_heated_house(), &heated_house()}) {
    std::vector<double> daily, steps;
    std::map<std::int64_t, std::vector<double>> by_month;  // 30.44 days each
    for (const Day& day : daily_means(*log)) {
      const auto board =
          board_emc_from_rh(Celsius{day.mean_celsius}, rh_from_percent(day.mean_percent_rh));
      REQUIRE(board.has_value());
      const double wood = peer_emc_percent(day.mean_celsius, day.mean_percent_rh);
      const double expected = 100.0 * board.value().expected.value();
      REQUIRE(expected == Approx(0.80 * wood).margin(0.02));
      REQUIRE(100.0 * board.value().low.value() == Approx(0.45 * wood).margin(0.01));
      if (!daily.empty()) {
        steps.push_back(std::abs(expected - daily.back()));
      }
      daily.push_back(expected);
      by_month[static_cast<std::int64_t>(static_cast<double>(day.day) / 30.44)].push_back(expected);
    }
    std::vector<double> months;
    for (const auto& [month, values] : by_month) {
      if (values.size() >= 28) {
        months.push_back(quantile(values, 0.5));
      }
    }
    REQUIRE(months.size() >= 4);
    note_figure("board EMC of daily means " + log->name,
                range_text(daily, 1) + " %, " + spread_text(daily, 1) +
                    "; from day to day median " + text_of(quantile(steps, 0.5)) + ", largest " +
                    text_of(quantile(steps, 1.0)) + "; months " + range_text(months, 1) + " %");
  }
}

TEST_CASE("CartonsIn48HoursTakeUpWhatTheLoggedTemperaturesAllow") {
  const PanelPack pack;
  const Carton& carton = pack.carton;
  const double volume = carton.length.value() * carton.width.value() * carton.height.value();
  const double whole_area = 2.0 * (carton.length.value() * carton.width.value() +
                                   carton.length.value() * carton.height.value() +
                                   carton.width.value() * carton.height.value());
  struct Case {
    CartonWrap wrap;
    const char* name;
    double air_resistance_m;
    double area;
  };
  const Case cases[] = {
      {CartonWrap::film_closed, "closed film", 50.0, whole_area},
      {CartonWrap::film_open_ends, "film open at the ends", 0.5,
       2.0 * carton.width.value() * carton.height.value()},
      {CartonWrap::cardboard_only, "cardboard", 0.3, whole_area},
  };
  for (const RoomLog* log : {&half_heated_house(), &heated_house()}) {
    const std::vector<Day> days = daily_means(*log);
    const auto rows_in_48_hours = static_cast<std::size_t>(48 * log->rows_an_hour);
    for (const Case& wrapped : cases) {
      std::vector<double> low, high;
      double worst = 0.0;
      for (std::size_t first = 0; first + rows_in_48_hours <= log->rows.size();
           first += rows_in_48_hours / 2) {
        double sum_celsius = 0.0;
        double exposure = 0.0;  // time over time constant, at the changing temperature
        for (std::size_t i = first; i < first + rows_in_48_hours; ++i) {
          sum_celsius += log->rows[i].celsius;
          exposure += 3600.0 / log->rows_an_hour * 1.95e-10 * peer_water_pa(log->rows[i].celsius) *
                      wrapped.area / (wrapped.air_resistance_m * 850.0 * 0.131 * 0.9 * volume);
        }
        const Celsius mean{sum_celsius / static_cast<double>(rows_in_48_hours)};
        const auto uptake = wrapped_uptake(pack, wrapped.wrap, mean, micros_from_hours(48));
        REQUIRE(uptake.has_value());
        low.push_back(100.0 * uptake.value().low.value());
        high.push_back(100.0 * uptake.value().high.value());
        // The range takes half and double the resistance.
        worst = std::max(worst, std::abs(low.back() / (100.0 * -std::expm1(-0.5 * exposure)) - 1));
        worst = std::max(worst, std::abs(high.back() / (100.0 * -std::expm1(-2.0 * exposure)) - 1));
      }
      CAPTURE(log->name, wrapped.name, worst);
      // A steady temperature in place of the true one costs the curvature of saturation pressure.
      CHECK(worst < 0.01);
      note_figure("48 h in cartons, " + std::string(wrapped.name) + ", " + log->name,
                  text_of(quantile(low, 0.0), 2) + " to " + text_of(quantile(high, 1.0), 2) +
                      " % of the change; steady temperature within " + text_of(100 * worst) +
                      " % of the changing one");
    }
  }
}

TEST_CASE("FloorLaidOnEachDayMovesByItsWidthAndTheRestOfTheLog") {
  for (const RoomLog* log : {&half_heated_house(), &heated_house()}) {
    const std::vector<Day> days = daily_means(*log);
    const Rest all = rest_from(days, 0);
    note_figure("daily mean RH " + log->name, text_of(all.lowest, 1) + " to " +
                                                  text_of(all.highest, 1) + " % over " +
                                                  std::to_string(days.size()) + " days");
    for (const MovementCoefficient coefficient : {kPublishedMovementLimit, kTypicalMovement}) {
      const Floors floors = floors_of(days, coefficient);
      const double largest = quantile(floors.gap_mm, 1.0);
      // Nobody can need more than from the driest to the dampest day, and the last day needs none.
      CHECK(largest <= 35.0 * coefficient.value() * (all.highest - all.lowest) + kRounding);
      CHECK(floors.gap_mm.back() == 0.0);
      note_figure("7 m at " + text_of(coefficient.value(), 3) + ", " + log->name,
                  "gap a side worst day " + text_of(largest, 1) + " mm, best " +
                      text_of(quantile(floors.gap_mm, 0.0), 1) + ", median " +
                      text_of(quantile(floors.gap_mm, 0.5), 1) + "; shrinkage worst " +
                      text_of(quantile(floors.shrinkage_mm, 1.0), 1) + " mm; 10 mm do on " +
                      text_of(100.0 * floors.fits / static_cast<double>(days.size()), 1) +
                      " % of days");
    }
  }
}
