#include "analysis/readiness/service/laid_floor.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

namespace analysis::readiness {
namespace {

constexpr double kMeasuredTo = 0.0001;  // a gap is not measured finer: 0.1 mm
constexpr double kSawnTo = 0.001;

std::string counted(std::size_t count, const char* noun) {
  return std::to_string(count) + " " + noun + (count == 1 ? "" : "s");
}

}  // namespace

std::optional<std::pair<std::size_t, std::size_t>> corners_of(std::string_view wall) {
  std::size_t from = 0;
  std::size_t to = 0;
  const char* const end = wall.data() + wall.size();
  const auto first = std::from_chars(wall.data(), end, from);
  if (first.ec != std::errc() || first.ptr == end || *first.ptr != '-') {
    return std::nullopt;
  }
  const auto second = std::from_chars(first.ptr + 1, end, to);
  return second.ec == std::errc() && second.ptr == end ? std::optional(std::pair{from, to})
                                                       : std::nullopt;
}

std::string place_text(const LaidGap& left) {
  return (corners_of(left.wall) ? "wall " : "") + left.wall;
}

void put_elsewhere_last(std::vector<LaidGap>& gaps) {
  std::ranges::stable_partition(gaps, [](const LaidGap& left) { return !left.wall.empty(); });
}

std::optional<GapLeft> gap_left_from(const LaidFloor& laid, std::optional<base::Metres> planned,
                                     const std::vector<std::string>& walls) {
  std::optional<GapLeft> least;
  const auto take = [&least](base::Metres gap, bool noted) {
    if (!least || gap < least->gap) {
      least = GapLeft{gap, noted};
    }
  };
  const auto ends_there = [&walls](const std::string& wall) {
    return walls.empty() || !corners_of(wall) || std::ranges::find(walls, wall) != walls.end();
  };
  const auto is_noted = [&laid](const std::string& wall) {
    return std::ranges::find(laid.gaps, wall, &LaidGap::wall) != laid.gaps.end();
  };
  const bool all_named = !walls.empty() && std::ranges::all_of(walls, is_noted);
  for (const LaidGap& left : laid.gaps) {
    if (left.wall.empty() ? !all_named : ends_there(left.wall)) {
      take(left.gap, true);
    }
  }
  if (planned && !all_named && !is_noted("")) {
    take(*planned, false);
  }
  return least;
}

std::vector<std::string> findings_from(const LaidFloor& laid, const PlannedFloor& planned,
                                       const LengthWords& words) {
  std::vector<std::string> findings;
  for (const LaidGap& left : laid.gaps) {
    if (left.gap.value() < planned.wall_gap.value() - kMeasuredTo) {
      findings.push_back("the gap at " + (left.wall.empty() ? "the walls" : place_text(left)) +
                         " is " + words.told(left.gap) + ", the plan asks for " +
                         words.least(planned.wall_gap));
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
  if (laid.first_row &&
      std::abs(laid.first_row->value() - planned.first_row.value()) > kSawnTo + 1e-9) {
    findings.push_back("the first row is " + words.told(*laid.first_row) + " wide, the plan has " +
                       words.told(planned.first_row));
  }
  return findings;
}

}  // namespace analysis::readiness
