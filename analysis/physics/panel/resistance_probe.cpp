#include "analysis/physics/panel/resistance_probe.hpp"

#include <cmath>

namespace analysis::physics {
namespace {

using base::Celsius;
using base::MoistureContent;

constexpr MoistureContent kLowestReading{0.06};
constexpr MoistureContent kHighestReading{0.25};
constexpr Celsius kColdestWoodOfMeter{-10.0};
constexpr Celsius kHottestWoodOfMeter{40.0};

// Percent in, percent out. Source: Pfaff and Garrahan 1986, from memory.
double percent_at_reference_temperature(double reading_percent, double celsius) {
  const double x = celsius + 2.8;
  return (reading_percent + 0.567 - 0.0260 * x + 0.000051 * x * x) / (0.881 * std::pow(1.0056, x));
}

}  // namespace

base::Result<MoistureContent, DomainError> mc_from_resistance_reading(
    MoistureContent reading, Celsius wood, MeterCompensation compensation,
    const SpeciesScale& species) {
  if (compensation != MeterCompensation::none) {
    return base::Failure{DomainError::reading_already_corrected};
  }
  if (!(reading >= kLowestReading && reading <= kHighestReading)) {
    return base::Failure{DomainError::moisture_content_out_of_domain};
  }
  if (!(wood >= kColdestWoodOfMeter && wood <= kHottestWoodOfMeter)) {
    return base::Failure{DomainError::temperature_out_of_domain};
  }
  if (!(species.slope_kg_per_kg > 0.0 && std::isfinite(species.slope_kg_per_kg) &&
        std::isfinite(species.offset_mc_kg_per_kg))) {
    return base::Failure{DomainError::material_out_of_domain};
  }
  const double on_reference_scale =
      percent_at_reference_temperature(100.0 * reading.value(), wood.value()) / 100.0;
  const double mc = (on_reference_scale - species.offset_mc_kg_per_kg) / species.slope_kg_per_kg;
  if (!(mc > 0.0)) {
    return base::Failure{DomainError::moisture_content_out_of_domain};
  }
  return MoistureContent{mc};
}

}  // namespace analysis::physics
