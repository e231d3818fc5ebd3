#include "analysis/readiness/slab/hours_in_climate.hpp"

#include <algorithm>

#include "analysis/readiness/service/service_log.hpp"

namespace analysis::readiness {

void HoursInClimate::add(base::UtcMicros at, std::optional<base::Celsius> temperature,
                         std::optional<base::RelativeHumidity> rh) {
  Reading reading{at, std::nullopt};
  if (outside_of(rh, temperature, climate_).any()) {
    reading.outside = true;
  } else if (temperature && rh) {
    reading.outside = false;
  }
  if (last_ && at - last_->at <= longest_interval_ && last_->outside &&
      last_->outside == reading.outside) {
    const base::Micros counted = std::min(at, during_.to) - std::max(last_->at, during_.from);
    (*reading.outside ? logged_.outside : logged_.inside) += std::max(counted, base::Micros{0});
  }
  last_ = reading;
}

bool contradicts(const LoggedHours& logged, base::Micros stated, base::Micros asked) {
  return stated - logged.outside < asked * 9 / 10;
}

}  // namespace analysis::readiness
