// A measured curve with its absences. No value is ever invented between two points across a gap.
#pragma once

#include <vector>

#include "analysis/base/time.hpp"

namespace analysis::base {

struct SeriesPoint {
  UtcMicros at;
  double value = 0.0;  // in the unit of the series, which its owner states
  bool operator==(const SeriesPoint&) const = default;
};

// `points`: strictly increasing in time. `gaps`: disjoint, increasing; no point lies inside one.
struct Series {
  std::vector<SeriesPoint> points;
  std::vector<TimeRange> gaps;
};

}  // namespace analysis::base
