#include "analysis/readiness/service/service_air.hpp"

namespace analysis::readiness {
namespace {

constexpr base::Micros kHour = base::micros_from_hours(1.0);
constexpr base::UtcMicros kHourGrid{0};

struct HoursMean {
  std::size_t hours = 0;
  std::optional<double> mean;  // where half of the hours asked for have readings
};

HoursMean mean_of_hours(const outlook::SlotMeans& means, base::UtcMicros now, std::size_t asked) {
  const std::int64_t newest = (now - kHourGrid) / kHour;
  HoursMean found;
  double sum = 0.0;
  for (const outlook::SlotMean& slot : means.slots()) {
    if (slot.number <= newest && slot.number > newest - static_cast<std::int64_t>(asked)) {
      sum += slot.mean;
      ++found.hours;
    }
  }
  const auto hours = static_cast<double>(found.hours);
  if (found.hours > 0 && hours >= kLeastOfADay * static_cast<double>(asked)) {
    found.mean = sum / hours;
  }
  return found;
}

}  // namespace

std::optional<bool> is_outside(const ServiceAir& air, const ServiceClimate& climate) {
  if (outside_of(air.rh, air.temperature, climate).any()) {
    return true;
  }
  return air.rh && air.temperature ? std::optional(false) : std::nullopt;
}

ServiceAirWindow::ServiceAirWindow(base::Micros over)
    : hours_(static_cast<std::size_t>(over / kHour)),
      rh_(kHourGrid, kHour, hours_),
      celsius_(kHourGrid, kHour, hours_) {}

ServiceAir ServiceAirWindow::air_at(base::UtcMicros now) const {
  const HoursMean rh = mean_of_hours(rh_, now, hours_);
  const HoursMean celsius = mean_of_hours(celsius_, now, hours_);
  ServiceAir air{over(), rh.hours, celsius.hours, {}, {}};
  if (rh.mean) {
    air.rh = base::RelativeHumidity{*rh.mean};
  }
  if (celsius.mean) {
    air.temperature = base::Celsius{*celsius.mean};
  }
  return air;
}

base::Micros ServiceAirWindow::over() const { return static_cast<std::int64_t>(hours_) * kHour; }

}  // namespace analysis::readiness
