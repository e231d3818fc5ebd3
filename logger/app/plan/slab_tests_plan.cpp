#include "logger/app/plan/slab_tests_plan.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "analysis/readiness/slab/test_times.hpp"

namespace logger::app {

using analysis::base::Metres;
using analysis::base::SquareMetres;
using analysis::plan::SlabPlace;
using analysis::readiness::SlabRequirements;
using nlohmann::ordered_json;

namespace {

bool is_on_same_slab(const JobRoom& a, const JobRoom& b) {
  if (!a.requirements.slab || !b.requirements.slab || !a.slab_poured_at ||
      a.slab_poured_at != b.slab_poured_at) {
    return false;
  }
  const auto thickness = [](const JobRoom& room) {
    return room.slab_build ? std::optional(room.slab_build->thickness) : std::nullopt;
  };
  return thickness(a) == thickness(b);
}

bool is_of_timber(const JobRoom& room) {
  using analysis::readiness::SubfloorKind;
  return room.subfloor_kind == SubfloorKind::crawl_space ||
         room.subfloor_kind == SubfloorKind::timber;
}

// The share of `room` in the places over its whole slab; in the order of the job, so that the
// shares of all its rooms add up.
std::size_t share_of(const Job& job, const JobRoom& room, SlabTestsPlan& plan) {
  std::vector<SquareMetres> areas;
  std::size_t own = 0;
  double whole = 0.0;
  for (const JobRoom& other : job.rooms) {
    const bool is_own = other.id == room.id;
    if (!is_own && !is_on_same_slab(room, other)) {
      continue;
    }
    if (is_own) {
      own = areas.size();
    } else {
      plan.shared_with.push_back(other.id);
    }
    areas.emplace_back(other.floor_area_m2);
    whole += other.floor_area_m2;
  }
  plan.whole_slab =
      std::max(areas.size(),
               analysis::readiness::places_required_from_area(SquareMetres{whole}).value_or(0));
  return analysis::plan::places_shared(areas, plan.whole_slab)[own];
}

}  // namespace

std::optional<SlabTestsPlan> slab_tests_plan_from(const Job& job, const JobRoom& room) {
  if (!room.requirements.slab || !room.plan || is_of_timber(room)) {
    return std::nullopt;
  }
  const SlabRequirements& slab = *room.requirements.slab;
  const SquareMetres area{room.floor_area_m2};
  SlabTestsPlan plan;
  plan.by_area = analysis::readiness::places_required_from_area(area).value_or(0);
  plan.by_job = analysis::readiness::places_asked_from(slab);
  const std::size_t share = share_of(job, room, plan);
  if (room.slab_build) {
    const auto depth = analysis::readiness::rh_test_depth_from(room.slab_build->thickness,
                                                               room.slab_build->two_sided);
    plan.depth = depth ? std::optional(depth.value()) : std::nullopt;
  }
  if (slab.carbide_high) {
    const auto cold = analysis::readiness::carbide_samples_required_from(area, false);
    const auto heated = analysis::readiness::carbide_samples_required_from(area, true);
    if (cold && heated) {
      plan.carbide_samples = cold.value();
      plan.carbide_samples_heated = heated.value();
    }
  }
  auto places =
      analysis::plan::slab_places_from({room.plan->request.room, plan.by_job.value_or(share),
                                        room.plan->slab_places, room.plan->wettest});
  if (places) {
    plan.places = std::move(places).value();
  } else {
    plan.no_places_because = places.error();
  }
  return plan;
}

ordered_json json_from(const SlabTestsPlan& plan) {
  ordered_json places = ordered_json::array();
  for (const SlabPlace& place : plan.places.places) {
    ordered_json walls = ordered_json::array();
    for (const auto& wall : place.walls) {
      walls.push_back({{"from_corner", wall.from_corner},
                       {"to_corner", wall.to_corner},
                       {"distance_m", wall.distance.value()}});
    }
    places.push_back({{"x_m", place.at.x_m},
                      {"y_m", place.at.y_m},
                      {"walls", walls},
                      {"expected_wettest", place.expected_wettest}});
  }
  const auto count = [](const std::optional<std::size_t>& value) {
    return value ? ordered_json(*value) : ordered_json(nullptr);
  };
  return {{"places", places},
          {"places_by_own_area", plan.by_area},
          {"places_by_job", count(plan.by_job)},
          {"places_over_whole_slab", plan.whole_slab},
          {"rooms_on_same_slab", plan.shared_with},
          {"depth_mm", plan.depth ? ordered_json(std::round(plan.depth->value() * 1e4) / 10.0)
                                  : ordered_json(nullptr)},
          {"carbide_samples_unheated", count(plan.carbide_samples)},
          {"carbide_samples_heated", count(plan.carbide_samples_heated)},
          {"remarks", plan.places.remarks},
          {"no_places_because", plan.no_places_because}};
}

}  // namespace logger::app
