// The drying curves a forecast weighs against the readings, solved once for one humidity of the air
// above the slab. Immutable after solving; about 0.6 MB. A program that makes many forecasts keeps
// one per humidity and rounds that to half a per cent.
#pragma once

#include <cstddef>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/slab/drying_curve.hpp"

namespace analysis::readiness {

using base::RelativeHumidity;

class DryingLibrary {
 public:
  struct Entry {
    physics::DryingCurve curve;
    double weight = 0.0;  // of the prior; all sum to 1
  };

  // Mean humidity of the air, 0.05..0.80; rh_out_of_domain otherwise. 330 solves.
  // Nodes and weights (our assumption; the Model Code's values in their middle): initial RH
  // 0.90..1.00 by 0.01, all alike; middle RH 0.72..0.88 by 0.04, normal(0.80, 0.03); dry share
  // 0.025, 0.05, 0.1 as 1:2:1; steepness 8 and 15 as 2:3. Entries in that order, the initial RH
  // changing fastest, then steepness, dry share, middle RH.
  [[nodiscard]] static base::Result<DryingLibrary, physics::DomainError> solve(
      RelativeHumidity air_rh);

  [[nodiscard]] RelativeHumidity air_rh() const { return air_rh_; }
  [[nodiscard]] const std::vector<Entry>& entries() const { return entries_; }

 private:
  explicit DryingLibrary(RelativeHumidity air_rh) : air_rh_(air_rh) {}
  RelativeHumidity air_rh_;
  std::vector<Entry> entries_;
};

}  // namespace analysis::readiness
