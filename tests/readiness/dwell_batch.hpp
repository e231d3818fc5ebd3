// The dwell rules as a declarative batch over the whole log, written apart from the incremental
// account and in exact integers: instants are multiples of 1 us / 720720, so that a crossing
// between readings whose values differ by at most 16 grid steps is exact. Pieces are found by
// testing the middle of every stretch between crossings; runs and breaks by looking at the whole
// log at once.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "analysis/readiness/dwell.hpp"

namespace dwell_batch {

using Exact = std::int64_t;
inline constexpr Exact kPerMicrosecond = 720720;  // least common multiple of 1..16

// A reading on the grid: temperature in steps of 1 deg C, humidity in steps of 3 %RH.
struct GridReading {
  std::int64_t at_us = 0;
  std::optional<int> celsius;
  std::optional<int> rh_steps;
};
inline constexpr int kTemperatureLow = 17, kTemperatureHigh = 23;  // deg C
inline constexpr int kRhLow = 15, kRhHigh = 20;                    // steps: 45 and 60 %RH

struct Break {
  Exact at = 0;     // the instant to report
  Exact known = 0;  // the instant from which the log shows it
  analysis::readiness::ResetReason reason = analysis::readiness::ResetReason::excursion;
};

struct Outcome {
  Exact in_run = 0, total_in = 0, total_out = 0, total_unknown = 0;
  std::optional<Exact> done;
  std::vector<Break> breaks;
};

[[nodiscard]] Outcome outcome_from_log(const std::vector<GridReading>& log,
                                       const analysis::readiness::DwellPolicy& policy);

}  // namespace dwell_batch
