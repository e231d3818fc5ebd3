#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "analysis/readiness/uncertainty/conformance.hpp"
#include "analysis/readiness/uncertainty/sensor_uncertainty.hpp"
#include "analysis/readiness/uncertainty/two_point_calibration.hpp"
#include "analysis/readiness/uncertainty/uncertainty_budget.hpp"

using namespace analysis::readiness;
using analysis::base::micros_from_hours;
using analysis::base::RelativeHumidity;
using analysis::base::rh_from_percent;
using analysis::base::UtcMicros;

TEST_CASE("The normal distribution holds the one-sided quantiles") {
  // JCGM 106:2012 Table 1 prints 0.84/1.28/1.64/2.33/3.09 (from memory); four digits recomputed.
  const std::array rows{std::pair{0.8416, 0.80}, std::pair{1.2816, 0.90}, std::pair{1.6449, 0.95},
                        std::pair{2.3263, 0.99}, std::pair{3.0902, 0.999}};
  for (const auto& [z, probability] : rows) {
    CAPTURE(z);
    CHECK(normal_distribution(z) == Approx(probability).margin(3e-5));
    CHECK(normal_distribution(-z) == Approx(1.0 - probability).margin(3e-5));
  }
}

TEST_CASE("An upper limit conforms with the computed probabilities") {
  // JCGM 106:2012, 7, limit 75 %RH, u 1.5 %RH; recomputed from the normal distribution.
  const ToleranceInterval slab{std::nullopt, 75.0};
  const std::array rows{std::pair{70.0, 0.99957}, std::pair{72.0, 0.97725},
                        std::pair{72.5, 0.95221}, std::pair{73.0, 0.90879},
                        std::pair{74.0, 0.74751}, std::pair{75.0, 0.5},
                        std::pair{76.0, 0.25249}};
  for (const auto& [measured, probability] : rows) {
    CAPTURE(measured);
    CHECK(conformance_probability(slab, measured, 1.5) == Approx(probability).margin(1e-5));
  }
}

TEST_CASE("A band conforms with the computed probabilities") {
  // JCGM 106:2012, 7.4, 6..9 %, y 8.5, u 0.4: recomputed.
  CHECK(conformance_probability({6.0, 9.0}, 8.5, 0.4) == Approx(0.894350).margin(1e-6));
  // Humidity band 45..60 %RH, u 1.5 %RH: recomputed.
  for (const auto& [rh, probability] : {std::pair{45.0, 0.5}, std::pair{47.0, 0.9088},
                                        std::pair{48.0, 0.9772}, std::pair{50.0, 0.9996}}) {
    CAPTURE(rh);
    CHECK(conformance_probability({45.0, 60.0}, rh, 1.5) == Approx(probability).margin(5e-5));
  }
  // 22.8 degC (u 0.25) with 58.5 %RH (u 1.5), independent sensors: recomputed.
  CHECK(conformance_probability({17.0, 23.0}, 22.8, 0.25) *
            conformance_probability({45.0, 60.0}, 58.5, 1.5) ==
        Approx(0.6631).margin(5e-5));
}

TEST_CASE("A run is judged by its extremes under one common error") {
  // Run between 47 and 59 %RH, u 1.5: recomputed.
  CHECK(run_conformance_probability({45.0, 60.0}, 47.0, 59.0, 1.5) == Approx(0.6563).margin(5e-5));

  SECTION("which agrees with a simulation of the common error") {
    const unsigned seed = 20260301;
    CAPTURE(seed);
    std::mt19937_64 engine(seed);
    std::normal_distribution<double> error(0.0, 1.5);
    int held = 0;
    constexpr int kRuns = 200000;
    for (int i = 0; i < kRuns; ++i) {
      const double e = error(engine);
      held += (59.0 + e <= 60.0 && 47.0 + e >= 45.0) ? 1 : 0;
    }
    CHECK(held / double{kRuns} == Approx(0.6563).margin(0.004));
  }
  SECTION("and never rises when the run widens") {
    double before = 1.0;
    for (double reach = 0.0; reach < 12.0; reach += 0.25) {
      const double now = run_conformance_probability({45.0, 60.0}, 52.0 - reach, 52.0 + reach, 1.5);
      CHECK(now <= before);
      CHECK(now >= 0.0);
      before = now;
    }
  }
}

TEST_CASE("Without uncertainty a value on a limit conforms, beyond it not") {
  CHECK(conformance_probability({45.0, 60.0}, 45.0, 0.0) == 1.0);
  CHECK(conformance_probability({45.0, 60.0}, 60.0, 0.0) == 1.0);
  CHECK(conformance_probability({45.0, 60.0}, 60.001, 0.0) == 0.0);
  CHECK(conformance_probability({45.0, 60.0}, 44.999, 0.0) == 0.0);
}

TEST_CASE("A guard band of the expanded uncertainty bounds the wrong acceptance") {
  // JCGM 106:2012, 8.3.2 (clause from memory): limit 75, u 1.5, w = U = 2u: A = 72.0, at most
  // 2.275 %.
  const ToleranceInterval limit{std::nullopt, 75.0};
  const ToleranceInterval guarded = guarded_from(limit, 1.5);
  CHECK(*guarded.high == Approx(72.0).margin(1e-4));
  CHECK_FALSE(guarded.low);
  CHECK(1.0 - conformance_probability(limit, *guarded.high, 1.5) == Approx(0.02275).margin(1e-5));
  // U 3 %RH leaves 48..57 of 45..60 %RH; U 8 leaves nothing, and that shows.
  CHECK(*guarded_from({45.0, 60.0}, 1.5).low == 48.0);
  CHECK(*guarded_from({45.0, 60.0}, 1.5).high == 57.0);
  CHECK(*guarded_from({45.0, 60.0}, 4.0).low > *guarded_from({45.0, 60.0}, 4.0).high);
}

TEST_CASE("Components combine as the guide says") {
  // GUM 4.3.7, 5.1.2: RH probe +-2 %RH (1.1547), +-0.3 K times 4.6458 %RH/K (0.8047), calibration
  // U 0.6 (0.3), repeatability 0.3: recomputed.
  const std::array probe{UncertaintyComponent{standard_from_limits(2.0)},
                         UncertaintyComponent{standard_from_limits(0.3) * 4.6458},
                         UncertaintyComponent{standard_from_expanded(0.6, 2.0)},
                         UncertaintyComponent{0.3}};
  CHECK(probe[0].standard == Approx(1.1547).margin(1e-4));
  CHECK(probe[1].standard == Approx(0.8047).margin(1e-4));
  CHECK(combined_standard(probe) == Approx(1.46998).margin(1e-3));
  CHECK(kCoverageFactor * combined_standard(probe) == Approx(2.94).margin(1e-3));
  // G.4.1: recomputed.
  const std::array parts{UncertaintyComponent{1.0, 9}, UncertaintyComponent{0.5, 19},
                         UncertaintyComponent{0.3, 49}};
  CHECK(combined_standard(parts) == Approx(1.15758).margin(1e-3));
  CHECK(effective_degrees_of_freedom(parts) == Approx(15.673).margin(1e-3));
  CHECK(std::isinf(effective_degrees_of_freedom(probe)));
  CHECK(standard_from_resolution(0.01) == Approx(0.01 / std::sqrt(12.0)));
}

namespace {

constexpr UtcMicros kDelivery{1'800'000'000'000'000};
UtcMicros days_after(double days) { return kDelivery + micros_from_hours(days * 24.0); }

DatedCalibration calibration(double from_days, double due_days, double expanded) {
  return {days_after(from_days), days_after(due_days), 1.0, 0.0, expanded};
}

}  // namespace

TEST_CASE("A sensor is as uncertain as its paper says, drift and place included") {
  SensorRecord sensor;
  sensor.units_per_count = 0.01;
  sensor.specification = SensorSpecification{2.0, 0.5, 1.0, "its paper"};
  const auto found = sensor_uncertainty_from(sensor, kDelivery);
  REQUIRE(found);
  CHECK(found->accuracy == Approx(2.0 / std::sqrt(3.0)));
  CHECK(found->drift == Approx(0.5 / std::sqrt(3.0)));
  CHECK(found->placement == Approx(1.0 / std::sqrt(3.0)));
  CHECK(found->combined() == Approx(std::sqrt((4.0 + 0.25 + 1.0) / 3.0 + 1e-4 / 12.0)));
}

TEST_CASE("A calibration replaces the accuracy, and the worst in force counts") {
  SensorRecord sensor;
  sensor.specification = SensorSpecification{2.0, 0.0, 0.0, "its paper"};
  const std::array one{calibration(-10, 355, 0.8)};
  sensor.calibrations = one;
  CHECK(sensor_uncertainty_from(sensor, kDelivery)->accuracy == Approx(0.4));

  SECTION("before the first calibration the paper is all there is") {
    CHECK(sensor_uncertainty_from(sensor, std::nullopt)->accuracy == Approx(2.0 / std::sqrt(3.0)));
    CHECK(sensor_uncertainty_from(sensor, days_after(-11))->accuracy ==
          Approx(2.0 / std::sqrt(3.0)));
  }
  SECTION("a calibration that was superseded before does not count, a later one does") {
    const std::array three{calibration(-300, 60, 9.0), calibration(-10, 355, 0.8),
                           calibration(5, 370, 1.2)};
    sensor.calibrations = three;
    CHECK(sensor_uncertainty_from(sensor, kDelivery)->accuracy == Approx(0.6));
    CHECK(sensor_uncertainty_from(sensor, days_after(6))->accuracy == Approx(0.6));
    CHECK(sensor_uncertainty_from(sensor, days_after(-200))->accuracy == Approx(4.5));
  }
  SECTION("drift runs over the life of the calibration") {
    sensor.specification->drift_per_year = 1.0;
    CHECK(sensor_uncertainty_from(sensor, kDelivery)->drift ==
          Approx(365.0 / 365.25 / std::sqrt(3.0)));
  }
}

TEST_CASE("Where nothing says how accurate a sensor is, its uncertainty is not known") {
  SensorRecord sensor;
  CHECK_FALSE(sensor_uncertainty_from(sensor, kDelivery));
  const std::array late{calibration(1, 366, 0.8)};
  sensor.calibrations = late;
  CHECK_FALSE(sensor_uncertainty_from(sensor, kDelivery));
  CHECK(sensor_uncertainty_from(sensor, days_after(2)));
}

TEST_CASE("Two fixed points give the line through them and its uncertainty") {
  const FixedPoint low{rh_from_percent(33.0), rh_from_percent(0.2), rh_from_percent(35.0),
                       rh_from_percent(0.1)};
  const FixedPoint high{rh_from_percent(75.4), rh_from_percent(0.2), rh_from_percent(76.0),
                        rh_from_percent(0.3)};
  const auto found = calibration_from_fixed_points(low, high);
  REQUIRE(found);
  const TwoPointCalibration& c = found.value();
  CHECK(c.gain * 35.0 + c.offset_percent_rh == Approx(33.0));
  CHECK(c.gain * 76.0 + c.offset_percent_rh == Approx(75.4));
  CHECK(c.expanded_uncertainty_percent_rh ==
        Approx(2.0 * std::sqrt(0.1 * 0.1 + std::pow(c.gain * 0.3, 2))));
  CHECK(c.low == rh_from_percent(33.0));
  CHECK(c.high == rh_from_percent(75.4));

  SECTION("in either order") {
    const auto swapped = calibration_from_fixed_points(high, low);
    REQUIRE(swapped);
    CHECK(swapped.value().gain == Approx(c.gain));
    CHECK(swapped.value().offset_percent_rh == Approx(c.offset_percent_rh));
  }
  SECTION("which bounds the spread of the corrected values in between (simulated)") {
    const unsigned seed = 7;
    CAPTURE(seed);
    std::mt19937_64 engine(seed);
    std::normal_distribution<double> normal;
    for (const double reading : {35.0, 50.0, 62.0, 76.0}) {
      double sum = 0.0;
      double squares = 0.0;
      constexpr int kRuns = 20000;
      for (int i = 0; i < kRuns; ++i) {
        FixedPoint a = low;
        FixedPoint b = high;
        a.reference = rh_from_percent(33.0 + 0.1 * normal(engine));
        a.reading = rh_from_percent(35.0 + 0.1 * normal(engine));
        b.reference = rh_from_percent(75.4 + 0.1 * normal(engine));
        b.reading = rh_from_percent(76.0 + 0.3 * normal(engine));
        const auto drawn = calibration_from_fixed_points(a, b).value();
        const double corrected = drawn.gain * reading + drawn.offset_percent_rh;
        sum += corrected;
        squares += corrected * corrected;
      }
      const double spread = std::sqrt(squares / kRuns - sum * sum / kRuns / kRuns);
      CAPTURE(reading, spread);
      CHECK(2.0 * spread < 1.03 * c.expanded_uncertainty_percent_rh);
    }
  }
}

TEST_CASE("Fixed points that can't be right are refused") {
  FixedPoint low{rh_from_percent(33.0), rh_from_percent(0.2), rh_from_percent(35.0), {}};
  FixedPoint high{rh_from_percent(75.4), rh_from_percent(0.2), rh_from_percent(76.0), {}};
  CHECK(calibration_from_fixed_points(low, low).error() == CalibrationFault::points_too_close);
  std::swap(low.reading, high.reading);
  CHECK(calibration_from_fixed_points(low, high).error() == CalibrationFault::implausible_gain);
  high.reading = low.reading;
  CHECK(calibration_from_fixed_points(low, high).error() == CalibrationFault::implausible_gain);
}
