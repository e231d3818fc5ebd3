#include "analysis/plan/stacking/stacking_plan.hpp"

#include <algorithm>
#include <tuple>

#include "analysis/physics/stack/warm_up.hpp"

namespace analysis::plan {
namespace {

constexpr double kAir = kStackAir.value();
constexpr int kMostWide = 2;
constexpr Micros kHorizon{60LL * 24 * 3600 * 1'000'000};

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
  const auto warm = physics::time_until_within(field.value(), site.room, site.core_limit, kHorizon);
  stacking.warms_up = warm.has_value();
  stacking.warm_up = warm.value_or(kHorizon);
  stacking.lead = std::max(site.dwell, stacking.warm_up);
  return stacking;
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
  if (found.empty()) {
    return base::Failure{std::string(
        "no way of stacking fits: the free floor is too small for low stacks, or what it may bear "
        "too little for high ones; bring the cartons in two deliveries or to two rooms")};
  }
  std::stable_sort(found.begin(), found.end(), [](const Stacking& a, const Stacking& b) {
    return std::tie(a.lead, a.stacks, a.cartons_high) < std::tie(b.lead, b.stacks, b.cartons_high);
  });
  return found;
}

}  // namespace analysis::plan
