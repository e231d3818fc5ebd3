#include "analysis/plan/stacking/stacking_plan.hpp"

#include <algorithm>
#include <tuple>

#include "analysis/physics/stack/warm_up.hpp"
#include "analysis/readiness/stack/stacking_advice.hpp"

namespace analysis::plan {
namespace {

constexpr double kAir = kStackAir.value();
constexpr int kMostWide = 2;

std::optional<Stacking> shaped(int cartons, const CartonSize& carton, const StackingSite& site,
                               Stacking stacking) {
  const int each = stacking.cartons_high * stacking.cartons_wide;
  stacking.stacks = (cartons + each - 1) / each;
  const double width = carton.width.value() * stacking.cartons_wide;
  stacking.covers =
      SquareMetres{stacking.stacks * (carton.length.value() + 2 * kAir) * (width + 2 * kAir)};
  stacking.load_kg_per_m2 =
      stacking.cartons_high * carton.mass.value() / (carton.length.value() * carton.width.value());
  if (stacking.covers > site.free_floor || stacking.load_kg_per_m2 > site.most_load_kg_per_m2) {
    return std::nullopt;
  }
  const physics::StackGeometry geometry{
      carton.length, Metres{width}, Metres{carton.height.value() * stacking.cartons_high},
      stacking.on_battens ? physics::StackBottom::on_battens : physics::StackBottom::on_floor};
  const auto field =
      physics::StackField::start(geometry, physics::kSlowStack, site.cartons_come_at);
  if (!field) {
    return std::nullopt;
  }
  const auto warm = physics::time_until_within(field.value(), site.room, site.core_limit,
                                               readiness::kStackingHorizon);
  stacking.warms_up = warm.has_value();
  stacking.warm_up = warm.value_or(readiness::kStackingHorizon);
  stacking.lead = std::max(site.dwell, stacking.warm_up);
  return stacking;
}

void sort_best_first(std::vector<Stacking>& found, double most_load_kg_per_m2) {
  const auto lead_of = [](const Stacking& a, const Stacking& b) { return a.lead < b.lead; };
  const Micros shortest = std::min_element(found.begin(), found.end(), lead_of)->lead;
  const Micros soon = shortest + kLeadAlike;
  const double light = kLightShare * most_load_kg_per_m2;
  const auto late = std::stable_partition(found.begin(), found.end(),
                                          [&](const Stacking& each) { return each.lead <= soon; });
  std::stable_sort(found.begin(), late, [&](const Stacking& a, const Stacking& b) {
    const bool a_heavy = a.load_kg_per_m2 > light;
    const bool b_heavy = b.load_kg_per_m2 > light;
    return std::tie(a_heavy, a.stacks, a.cartons_high, a.lead) <
           std::tie(b_heavy, b.stacks, b.cartons_high, b.lead);
  });
  std::stable_sort(late, found.end(), [](const Stacking& a, const Stacking& b) {
    return std::tie(a.lead, a.stacks, a.cartons_high) < std::tie(b.lead, b.stacks, b.cartons_high);
  });
}

}  // namespace

base::Result<std::vector<Stacking>, std::string> stackings_for(int cartons,
                                                               const CartonSize& carton,
                                                               const StackingSite& site) {
  if (cartons < 1) {
    return base::Failure{std::string("no cartons to stack")};
  }
  std::vector<Stacking> found;
  for (int high = 1; high <= std::min(site.most_cartons_high, cartons); ++high) {
    for (int wide = 1; wide <= kMostWide; ++wide) {
      for (const bool on_battens : {true, false}) {
        Stacking stacking;
        stacking.cartons_high = high;
        stacking.cartons_wide = wide;
        stacking.on_battens = on_battens;
        if (const auto shape = shaped(cartons, carton, site, stacking)) {
          found.push_back(*shape);
        }
      }
    }
  }
  if (carton.mass.value() / (carton.length.value() * carton.width.value()) >
      site.most_load_kg_per_m2) {
    return base::Failure{
        std::string("even cartons side by side, one high, weigh more than the floor may bear "
                    "(floor_bears_kg_per_m2); ask who knows the building")};
  }
  if (found.empty()) {
    return base::Failure{std::string(
        "no way of stacking fits: the free floor is too small for low stacks, or what it may bear "
        "too little for high ones; bring the cartons in two deliveries or to two rooms")};
  }
  sort_best_first(found, site.most_load_kg_per_m2);
  return found;
}

}  // namespace analysis::plan
