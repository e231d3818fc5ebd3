#include "analysis/readiness/service/laid_floor.hpp"

#include <algorithm>

#include "analysis/readiness/reason_texts.hpp"

namespace analysis::readiness {
namespace {

constexpr double kMeasuredTo = 0.0001;  // a gap is not measured finer: 0.1 mm

std::string millimetres(base::Metres length) {
  return text_from_number(length.value() * 1000.0, 1) + " mm";
}

std::string counted(std::size_t count, const char* noun) {
  return std::to_string(count) + " " + noun + (count == 1 ? "" : "s");
}

}  // namespace

std::optional<base::Metres> narrowest_gap(const LaidFloor& laid) {
  const auto least = std::ranges::min_element(laid.gaps, {}, &LaidGap::gap);
  return least == laid.gaps.end() ? std::nullopt : std::optional(least->gap);
}

std::vector<std::string> findings_from(const LaidFloor& laid, const PlannedFloor& planned) {
  std::vector<std::string> findings;
  for (const LaidGap& left : laid.gaps) {
    if (left.gap.value() < planned.wall_gap.value() - kMeasuredTo) {
      findings.push_back(
          "the gap " + (left.wall.empty() ? "at the walls" : "at wall " + left.wall) + " is " +
          millimetres(left.gap) + ", the plan asks for " + millimetres(planned.wall_gap));
    }
  }
  if (laid.joints.size() < planned.joints) {
    findings.push_back(
        "the plan asks for " + counted(planned.joints, "joint") + ", " +
        (laid.joints.empty() ? "none is noted" : counted(laid.joints.size(), "joint") + " noted"));
  }
  if (laid.rows && static_cast<std::size_t>(*laid.rows) != planned.rows) {
    findings.push_back(std::to_string(*laid.rows) + " rows are laid, the plan has " +
                       std::to_string(planned.rows));
  }
  return findings;
}

}  // namespace analysis::readiness
