// The gaps under a rigid straightedge that is laid along a line of measured heights. Pure.
//
// The straightedge rests on two measured points no farther apart than its length, with no point
// between them above it; the gap at a point between is how far it lies below. All such placements
// together are the upper hulls of the points in every window of that length. Nothing is
// interpolated: what lies between two measured points is not seen.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "analysis/base/units.hpp"

namespace analysis::readiness {

struct ProfilePoint {
  double at_m = 0.0;       // along the line, strictly increasing
  double height_mm = 0.0;  // above anything straight, level or not
};

struct StraightedgeGap {
  double gap_mm = 0.0;   // the largest of all placements; 0 = a straightedge never spans it
  std::size_t left = 0;  // points it then rests on; both the point itself where the gap is 0
  std::size_t right = 0;
  double left_share = 1.0;  // of the left one in the straightedge's height at this point
};

// One for each point. REQUIRES: positions strictly increasing, a length above 0. Cost: points
// times the points in one length.
[[nodiscard]] std::vector<StraightedgeGap> gaps_under_straightedge(
    std::span<const ProfilePoint> profile, base::Metres straightedge);

// The longest stretch that two of the points span within the length; 0 where no three points do.
[[nodiscard]] base::Metres span_seen(std::span<const ProfilePoint> profile,
                                     base::Metres straightedge);

}  // namespace analysis::readiness
