// Why a formula gives no value. Shared by all of analysis/physics.
#pragma once

#include <cstdint>

namespace analysis::physics {

// Nothing outside a stated domain is computed; never a clamped value. Not stored, not sent.
enum class DomainError : std::uint8_t {
  temperature_out_of_domain = 1,
  rh_out_of_domain = 2,               // below 0 or above 1
  vapour_pressure_out_of_domain = 3,  // its dew or frost point lies outside the saturation formula
  above_saturation = 4,               // the vapour would condense at that temperature
  pressure_out_of_domain = 5,         // of the air
  altitude_out_of_domain = 6,
  moisture_content_out_of_domain = 7,
  length_out_of_domain = 8,    // zero, negative or not finite where a length is needed
  duration_out_of_domain = 9,  // negative
  material_out_of_domain = 10,
  no_convergence = 11,
  reading_already_corrected = 12,  // the instrument has applied that correction itself
  volume_out_of_domain = 13,       // zero, negative or not finite
  air_changes_out_of_domain = 14,  // negative, not finite, or low above high
  count_out_of_domain = 15,        // of things that come in whole numbers
};

}  // namespace analysis::physics
