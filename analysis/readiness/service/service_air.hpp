// Mean room air of a laid floor's last hours. Pure; memory is bounded by hours, not by readings.
#pragma once

#include <cstddef>
#include <optional>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "analysis/readiness/outlook/slot_means.hpp"
#include "analysis/readiness/service/service_climate.hpp"
#include "analysis/readiness/service/service_log.hpp"

namespace analysis::readiness {

// Each hour with a reading weighs the same. A mean is known when half of the hours have readings
// (our assumption, as kLeastOfADay).
struct ServiceAir {
  base::Micros over{0};      // whole hours, the one that runs among them
  std::size_t rh_hours = 0;  // with readings of each
  std::size_t temperature_hours = 0;
  std::optional<base::RelativeHumidity> rh;
  std::optional<base::Celsius> temperature;
};

// nullopt = not known: nothing that is known lies outside, and something is not known.
[[nodiscard]] std::optional<bool> is_outside(const ServiceAir& air, const ServiceClimate& climate);

class ServiceAirWindow {
 public:
  // REQUIRES: over is at least an hour; a part of an hour is left out.
  explicit ServiceAirWindow(base::Micros over);
  // In order of time; finite. One of an hour before the newest is left out.
  void add(base::UtcMicros at, base::RelativeHumidity value) { rh_.add(at, value.value()); }
  void add(base::UtcMicros at, base::Celsius value) { celsius_.add(at, value.value()); }
  // Over the hours up to that of `now`.
  [[nodiscard]] ServiceAir air_at(base::UtcMicros now) const;
  [[nodiscard]] base::Micros over() const;

 private:
  std::size_t hours_;
  outlook::SlotMeans rh_;
  outlook::SlotMeans celsius_;
};

}  // namespace analysis::readiness
