// A slab of 100 mm whose readings lie exactly on one curve of the library: fck 30, from 97 % in air
// of 50 %, 20 deg C.
#pragma once

#include "analysis/readiness/slab/slab_forecast.hpp"

namespace slab_history {

using namespace analysis;
using namespace analysis::readiness;

inline constexpr base::UtcMicros kDryingStart{1'750'000'000'000'000};
inline base::UtcMicros at_day(double day) {
  return kDryingStart + base::micros_from_hours(24.0 * day);
}
inline double day_of(const CrossingDate& date) {
  return base::hours_from(date.at - kDryingStart) / 24.0;
}

// Solved once for all tests of a program.
inline const DryingLibrary& library_in_air_of_50_percent() {
  static const DryingLibrary library = DryingLibrary::solve(RelativeHumidity{0.50}).value();
  return library;
}

struct ExactSlab {
  double length_m = 0.1;
  double rate = 1.0;  // of the temperature
  physics::DryingCurve curve =
      physics::DryingCurve::solve(physics::DiffusivityTable::from_shape({}).value(),
                                  RelativeHumidity{0.97}, RelativeHumidity{0.50})
          .value();

  [[nodiscard]] double scaled_per_day() const {
    return rate * 1e-8 / 30.0 * 86400.0 / (length_m * length_m);
  }
  [[nodiscard]] RelativeHumidity rh_on(double day) const {
    return curve.rh_at(physics::curve_place_from(physics::ScaledTime{scaled_per_day() * day}));
  }
  [[nodiscard]] double crossing_day(double limit) const {
    return curve.crossing_of(RelativeHumidity{limit})->value() / scaled_per_day();
  }
};

// Readings every `step_days` from `first` to `last` day.
inline SlabHistory history_of(const ExactSlab& slab, double first, double last,
                              double step_days = 0.5) {
  SlabHistory history;
  for (int i = 0; first + i * step_days <= last + 1e-9; ++i) {
    const double day = first + i * step_days;
    history.readings.push_back({at_day(day), slab.rh_on(day), std::nullopt});
  }
  history.drying_started_at = kDryingStart;
  history.thickness = base::Metres{slab.length_m};
  history.probe_depth = base::Metres{0.4 * slab.length_m};
  history.barrier_below_confirmed = true;
  history.characteristic_strength = base::Megapascals{30.0};
  return history;
}

}  // namespace slab_history
