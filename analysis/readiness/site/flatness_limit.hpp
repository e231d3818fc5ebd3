// How flat a subfloor must be: the limit that flatness.hpp compares readings with.
#pragma once

#include <string>

namespace analysis::readiness {

// No more than `within_mm` of gap anywhere under a rigid straightedge of `straightedge_m`.
struct FlatnessLimit {
  double within_mm = 3.0;
  double straightedge_m = 1.0;
  std::string source = "common practice";
  bool operator==(const FlatnessLimit&) const = default;
};

}  // namespace analysis::readiness
