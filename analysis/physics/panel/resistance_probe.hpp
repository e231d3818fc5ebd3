// What a resistance (pin) meter's reading means in wood of another temperature and species than its
// scale was made for. Pure function. It can't correct for adhesive, salts or a wet surface, and
// says nothing about fibreboard.
#pragma once

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::physics {

// Whether the instrument has corrected for the wood's temperature by itself. The caller must say:
// a correction applied twice is as wrong as none.
enum class MeterCompensation { none, temperature };

// Reading on the reference scale = slope * true moisture content + offset. The default is the
// reference species itself, Douglas fir (from memory).
struct SpeciesScale {
  double slope_kg_per_kg = 1.0;
  double offset_mc_kg_per_kg = 0.0;
};

// Moisture content behind a reading of 6..25 % in wood of -10..40 deg C.
// Source: Pfaff and Garrahan 1986, combined temperature and species correction: with R in percent
// and x = T + 2.8 in deg C, MC = ((R + 0.567 - 0.0260 x + 0.000051 x^2) / (0.881 * 1.0056^x) - b) /
// a. From memory and not confirmed in any source we could read, the 2.8 least of all: with it the
// equation is neutral at 20 deg C, near which meters are calibrated, without it at 22.7. Its
// direction and size, about 1 point for 11 K, agree with a published remark
// (tests/physics/resistance_probe_test.cpp).
// Errors: reading_already_corrected, moisture_content_out_of_domain (also when the corrected value
// is not above zero), temperature_out_of_domain, material_out_of_domain (slope not above zero).
[[nodiscard]] base::Result<base::MoistureContent, DomainError> mc_from_resistance_reading(
    base::MoistureContent reading, base::Celsius wood, MeterCompensation compensation,
    const SpeciesScale& species = {});

}  // namespace analysis::physics
