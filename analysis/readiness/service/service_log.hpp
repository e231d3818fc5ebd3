// The room air since a floor was laid, thinned to days while the readings stream by; and what a
// longer stretch of it was like. Pure; memory is bounded by days, not by readings.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "analysis/readiness/outlook/slot_means.hpp"
#include "analysis/readiness/service/service_climate.hpp"

namespace analysis::readiness {

// A day counts when readings lie in half of its 24 hours; a spell of 14 days when 10 of them count.
// Our assumptions.
inline constexpr base::Micros kServiceDay = base::micros_from_hours(24.0);
inline constexpr double kLeastOfADay = 0.5;
inline constexpr std::size_t kSpellDays = 14;
inline constexpr std::size_t kLeastSpellDays = 10;
inline constexpr std::size_t kMostServiceDays = 3700;  // the newest ten years

// Mean, lowest and highest of one day that counts; days are 24 h each, from the end of laying on.
struct ServiceDay {
  std::size_t number = 0;  // from 0
  base::UtcMicros from;
  base::RelativeHumidity mean;
  base::RelativeHumidity low;
  base::RelativeHumidity high;
  std::optional<base::Celsius> temperature;  // mean; nullopt where too little of it was recorded
};

// `recorded` of its days count; the mean weighs them alike and fills no gap.
struct Spell {
  base::TimeRange range;
  base::RelativeHumidity mean;
  std::size_t recorded = 0;
  bool operator==(const Spell&) const = default;
};

struct DaysOutside {
  std::size_t too_dry = 0;
  std::size_t too_damp = 0;
  std::size_t too_cold = 0;
  std::size_t too_warm = 0;
  std::size_t any = 0;  // of these, each day once
};

// A mean that lies beyond a limit by less than this (share of RH, or kelvin) is on it: arithmetic
// leaves about 1e-16 behind, and the finest reading is 1e-4.
inline constexpr double kMeanNoise = 1e-9;

struct OutsideBy {
  bool dry = false;
  bool damp = false;
  bool cold = false;
  bool warm = false;
  [[nodiscard]] bool any() const { return dry || damp || cold || warm; }
};
// On a limit is inside; what is not known lies outside of nothing.
[[nodiscard]] OutsideBy outside_of(std::optional<base::RelativeHumidity> mean_rh,
                                   std::optional<base::Celsius> mean_temperature,
                                   const ServiceClimate& climate);
// Of a day's means.
[[nodiscard]] OutsideBy outside_of(const ServiceDay& day, const ServiceClimate& climate);

class ServiceLog {
 public:
  explicit ServiceLog(base::UtcMicros laid_at);
  // In order of time, from laid_at on; finite.
  void add(base::UtcMicros at, base::RelativeHumidity value) { rh_.add(at, value.value()); }
  void add(base::UtcMicros at, base::Celsius value) { celsius_.add(at, value.value()); }
  // Those that count, increasing; those that do not are not there.
  [[nodiscard]] std::vector<ServiceDay> days() const;

 private:
  base::UtcMicros laid_at_;
  outlook::SlotMeans rh_;
  outlook::SlotMeans celsius_;
};

// Each day counts in every way it lies outside, but once in `any`.
[[nodiscard]] DaysOutside days_outside(const std::vector<ServiceDay>& days,
                                       const ServiceClimate& climate);

struct Spells {
  Spell driest;
  Spell dampest;
};
// Of all stretches of `length` days between the end of laying and the last day; the earliest where
// several are alike to kMeanNoise. nullopt where no stretch has `least` days that count. REQUIRES:
// days increasing, 0 < least <= length.
[[nodiscard]] std::optional<Spells> spells_from(const std::vector<ServiceDay>& days,
                                                base::UtcMicros laid_at, std::size_t length,
                                                std::size_t least);

}  // namespace analysis::readiness
