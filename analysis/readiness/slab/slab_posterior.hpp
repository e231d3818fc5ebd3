// The weight the readings give to each drying curve and diffusivity, and when each crosses a limit.
// Pure.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "analysis/base/units.hpp"
#include "analysis/readiness/slab/drying_library.hpp"
#include "analysis/readiness/slab/forecast_evidence.hpp"

namespace analysis::readiness {

struct DiffusivityPrior {
  base::SquareMetresPerSecond centre;
  double log_deviation = 0.0;
};

// REQUIRES: a strength, where known, of 12..80 MPa.
[[nodiscard]] DiffusivityPrior diffusivity_prior_from(std::optional<Megapascals> strength);

struct CrossingNode {
  double weight = 0.0;
  std::optional<DryingTime> crossing;  // since the start of drying; nullopt = never
};

struct SlabPosterior {
  std::vector<CrossingNode> nodes;  // weights sum to 1
  RelativeHumidity residual;        // root mean square about the most likely node
};

// Cost: 8250 nodes times the observations.
[[nodiscard]] SlabPosterior slab_posterior_from(const DryingLibrary& library,
                                                const ForecastEvidence& evidence,
                                                const DiffusivityPrior& prior,
                                                const ProbeUncertainty& probe,
                                                RelativeHumidity limit);

}  // namespace analysis::readiness
