#include "analysis/readiness/service/service_log.hpp"

namespace analysis::readiness {

ServiceLog::ServiceLog(base::UtcMicros laid_at)
    : laid_at_(laid_at),
      rh_(laid_at, kServiceDay, kMostServiceDays),
      celsius_(laid_at, kServiceDay, kMostServiceDays) {}

std::vector<ServiceDay> ServiceLog::days() const {
  std::vector<ServiceDay> days;
  const auto celsius = celsius_.slots();
  auto warmth = celsius.begin();
  for (const outlook::SlotMean& slot : rh_.slots()) {
    if (slot.number < 0 || slot.covered < kLeastOfADay) {
      continue;
    }
    while (warmth != celsius.end() && warmth->number < slot.number) {
      ++warmth;
    }
    ServiceDay day{static_cast<std::size_t>(slot.number), laid_at_ + slot.number * kServiceDay,
                   base::RelativeHumidity{slot.mean},     base::RelativeHumidity{slot.low},
                   base::RelativeHumidity{slot.high},     {}};
    if (warmth != celsius.end() && warmth->number == slot.number &&
        warmth->covered >= kLeastOfADay) {
      day.temperature = base::Celsius{warmth->mean};
    }
    days.push_back(day);
  }
  return days;
}

OutsideBy outside_of(std::optional<base::RelativeHumidity> mean_rh,
                     std::optional<base::Celsius> mean_temperature, const ServiceClimate& climate) {
  const auto below = [](auto value, auto limit) {
    return value.value() < limit.value() - kMeanNoise;
  };
  return {mean_rh && below(*mean_rh, climate.rh_low), mean_rh && below(climate.rh_high, *mean_rh),
          mean_temperature && below(*mean_temperature, climate.temperature_low),
          mean_temperature && below(climate.temperature_high, *mean_temperature)};
}

OutsideBy outside_of(const ServiceDay& day, const ServiceClimate& climate) {
  return outside_of(day.mean, day.temperature, climate);
}

DaysOutside days_outside(const std::vector<ServiceDay>& days, const ServiceClimate& climate) {
  DaysOutside outside;
  for (const ServiceDay& day : days) {
    const OutsideBy by = outside_of(day, climate);
    outside.too_dry += by.dry ? 1U : 0U;
    outside.too_damp += by.damp ? 1U : 0U;
    outside.too_cold += by.cold ? 1U : 0U;
    outside.too_warm += by.warm ? 1U : 0U;
    outside.any += by.any() ? 1U : 0U;
  }
  return outside;
}

std::optional<Spells> spells_from(const std::vector<ServiceDay>& days, base::UtcMicros laid_at,
                                  std::size_t length, std::size_t least) {
  std::optional<Spells> found;
  if (days.empty()) {
    return found;
  }
  double sum = 0.0;
  std::size_t first = 0;  // days[first..next) lie in the stretch
  std::size_t next = 0;
  for (std::size_t begins = 0; begins + length <= days.back().number + 1; ++begins) {
    for (; next < days.size() && days[next].number < begins + length; ++next) {
      sum += days[next].mean.value();
    }
    for (; first < next && days[first].number < begins; ++first) {
      sum -= days[first].mean.value();
    }
    const std::size_t recorded = next - first;
    if (recorded < least) {
      continue;
    }
    const auto begin = laid_at + static_cast<std::int64_t>(begins) * kServiceDay;
    const Spell spell{{begin, begin + static_cast<std::int64_t>(length) * kServiceDay},
                      base::RelativeHumidity{sum / static_cast<double>(recorded)},
                      recorded};
    if (!found) {
      found = Spells{spell, spell};
    }
    const double mean = spell.mean.value();
    found->driest = mean < found->driest.mean.value() - kMeanNoise ? spell : found->driest;
    found->dampest = mean > found->dampest.mean.value() + kMeanNoise ? spell : found->dampest;
  }
  return found;
}

}  // namespace analysis::readiness
