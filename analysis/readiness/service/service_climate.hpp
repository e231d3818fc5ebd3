// The climate a laid floor is to be kept in. Plain data.
#pragma once

#include <string>

#include "analysis/base/units.hpp"

namespace analysis::readiness {

// Defaults: common practice, no source. The floor's own instructions win.
struct ServiceClimate {
  base::Celsius temperature_low{17.0};
  base::Celsius temperature_high{23.0};
  base::RelativeHumidity rh_low{0.45};
  base::RelativeHumidity rh_high{0.60};
  std::string source = "common practice, no source";
};

}  // namespace analysis::readiness
