#include "analysis/readiness/site/straightedge.hpp"

#include <algorithm>

namespace analysis::readiness {
namespace {

constexpr double kOfTheLength = 1.0 + 1e-9;  // four times 25 cm is one metre

// Twice the signed area of a, b, c: not below zero when b lies on or under the line from a to c.
double turn(const ProfilePoint& a, const ProfilePoint& b, const ProfilePoint& c) {
  return (b.at_m - a.at_m) * (c.height_mm - a.height_mm) -
         (b.height_mm - a.height_mm) * (c.at_m - a.at_m);
}

std::size_t window_end(std::span<const ProfilePoint> profile, std::size_t from, double length_m) {
  const double farthest = profile[from].at_m + length_m * kOfTheLength;
  std::size_t end = from + 1;
  while (end < profile.size() && profile[end].at_m <= farthest) {
    ++end;
  }
  return end;
}

}  // namespace

std::vector<StraightedgeGap> gaps_under_straightedge(std::span<const ProfilePoint> profile,
                                                     base::Metres straightedge) {
  std::vector<StraightedgeGap> gaps(profile.size());
  for (std::size_t i = 0; i < gaps.size(); ++i) {
    gaps[i].left = gaps[i].right = i;
  }
  std::vector<std::size_t> hull;
  for (std::size_t from = 0; from < profile.size(); ++from) {
    const std::size_t end = window_end(profile, from, straightedge.value());
    hull.clear();
    for (std::size_t i = from; i < end; ++i) {
      while (hull.size() > 1 &&
             turn(profile[hull[hull.size() - 2]], profile[hull.back()], profile[i]) >= 0.0) {
        hull.pop_back();
      }
      hull.push_back(i);
    }
    for (std::size_t k = 1; k < hull.size(); ++k) {
      const ProfilePoint& a = profile[hull[k - 1]];
      const ProfilePoint& b = profile[hull[k]];
      for (std::size_t i = hull[k - 1] + 1; i < hull[k]; ++i) {
        const double share = (b.at_m - profile[i].at_m) / (b.at_m - a.at_m);
        const double gap = a.height_mm * share + b.height_mm * (1.0 - share) - profile[i].height_mm;
        if (gap > gaps[i].gap_mm) {
          gaps[i] = {gap, hull[k - 1], hull[k], share};
        }
      }
    }
  }
  return gaps;
}

base::Metres span_seen(std::span<const ProfilePoint> profile, base::Metres straightedge) {
  double longest = 0.0;
  for (std::size_t from = 0; from < profile.size(); ++from) {
    const std::size_t end = window_end(profile, from, straightedge.value());
    if (end - from > 2) {
      longest = std::max(longest, profile[end - 1].at_m - profile[from].at_m);
    }
  }
  return base::Metres{longest};
}

}  // namespace analysis::readiness
