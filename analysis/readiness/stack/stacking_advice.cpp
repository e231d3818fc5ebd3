#include "analysis/readiness/stack/stacking_advice.hpp"

#include <algorithm>

#include "analysis/physics/stack/warm_up.hpp"

namespace analysis::readiness {
namespace {

using base::Failure;
using base::Result;
using physics::DomainError;
using physics::StackBottom;
using physics::StackMaterial;

constexpr int kMostCartons = 100'000;

physics::StackGeometry geometry_of(const CartonSize& carton, const StackArrangement& arrangement) {
  return {carton.length, base::Metres{arrangement.cartons_wide * carton.width.value()},
          base::Metres{arrangement.cartons_high * carton.height.value()}, arrangement.bottom};
}

base::SquareMetres floor_area_of(const CartonSize& carton, const StackArrangement& arrangement) {
  const auto geometry = geometry_of(carton, arrangement);
  const double air = kAirBetweenStacks.value();
  return base::SquareMetres{arrangement.stacks * (geometry.length.value() + air) *
                            (geometry.width.value() + air)};
}

int stacks_needed(int cartons, int in_one_stack) {
  return (cartons + in_one_stack - 1) / in_one_stack;
}

bool countable(int count) { return count >= 1 && count <= kMostCartons; }

Result<void, DomainError> check_plan(const StackingPlan& plan) {
  const StackArrangement& planned = plan.planned;
  if (!countable(plan.cartons) || !countable(planned.stacks) || !countable(planned.cartons_high) ||
      !countable(planned.cartons_wide)) {
    return Failure{DomainError::count_out_of_domain};
  }
  if (!physics::is_followed(plan.delivery) || !physics::is_followed(plan.room) ||
      !(plan.within.value() > 0.0)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  if (plan.available < Micros{0} || plan.available > kStackingHorizon) {
    return Failure{DomainError::duration_out_of_domain};
  }
  // A single carton is the smallest stack the search may come to.
  if (const auto single = check_stack(geometry_of(plan.carton, {}), physics::kMidStack); !single) {
    return single;
  }
  const auto whole = check_stack(geometry_of(plan.carton, planned), physics::kMidStack);
  if (whole &&
      stacks_needed(plan.cartons, planned.cartons_high * planned.cartons_wide) > planned.stacks) {
    return Failure{DomainError::count_out_of_domain};
  }
  return whole;
}

// REQUIRES: a checked plan, and an arrangement neither wider nor higher than planned.
std::optional<Micros> time_of(const StackingPlan& plan, const StackArrangement& arrangement,
                              const StackMaterial& material, Micros horizon) {
  const auto field =
      physics::StackField::start(geometry_of(plan.carton, arrangement), material, plan.delivery);
  return physics::time_until_within(field.value(), plan.room, plan.within, horizon);
}

StackingOption option_of(const StackingPlan& plan, const StackArrangement& arrangement) {
  StackingOption option{
      .arrangement = arrangement,
      .time = {time_of(plan, arrangement, physics::kFastStack, kStackingHorizon),
               time_of(plan, arrangement, physics::kMidStack, kStackingHorizon),
               time_of(plan, arrangement, physics::kSlowStack, kStackingHorizon)}};
  if (option.time.slow && *option.time.slow <= plan.available) {
    option.grade = StackingGrade::whole_range;
  } else if (option.time.mid && *option.time.mid <= plan.available) {
    option.grade = StackingGrade::usual_only;
  }
  const auto geometry = geometry_of(plan.carton, arrangement);
  option.floor_area = floor_area_of(plan.carton, arrangement);
  option.tall = geometry.height.value() >
                kTallSlenderness * std::min(geometry.width, geometry.length).value();
  if (plan.carton.mass) {
    option.floor_load_kg_per_m2 = arrangement.cartons_high * plan.carton.mass->value() /
                                  (plan.carton.length.value() * plan.carton.width.value());
  }
  return option;
}

// The highest that is in time, by halving: a higher stack is never quicker.
std::optional<StackArrangement> highest_in_time(const StackingPlan& plan, int wide,
                                                StackBottom bottom, const StackMaterial& material) {
  const auto in_time = [&](int high) {
    return time_of(plan, {1, high, wide, bottom}, material, plan.available).has_value();
  };
  if (!in_time(1)) {
    return std::nullopt;
  }
  int good = 1;
  int bad = plan.planned.cartons_high + 1;
  while (bad - good > 1) {
    const int middle = good + (bad - good) / 2;
    (in_time(middle) ? good : bad) = middle;
  }
  return StackArrangement{stacks_needed(plan.cartons, good * wide), good, wide, bottom};
}

// Of two with the same floor area the lower stacks.
bool takes_less_room(const CartonSize& carton, const StackArrangement& a,
                     const StackArrangement& b) {
  return std::pair{floor_area_of(carton, a), a.cartons_high} <
         std::pair{floor_area_of(carton, b), b.cartons_high};
}

std::optional<StackArrangement> best_on(const StackingPlan& plan, StackBottom bottom,
                                        const StackMaterial& material) {
  std::optional<StackArrangement> best;
  for (int wide = 1; wide <= plan.planned.cartons_wide; ++wide) {
    const auto found = highest_in_time(plan, wide, bottom, material);
    if (!found) {
      break;  // a wider one is never quicker
    }
    if (!best || takes_less_room(plan.carton, *found, *best)) {
      best = found;
    }
  }
  return best;
}

std::vector<StackingOption> options_in_time(const StackingPlan& plan,
                                            const StackMaterial& material) {
  std::vector<StackingOption> options;
  for (const StackBottom bottom : {StackBottom::on_floor, StackBottom::on_battens}) {
    const auto best = best_on(plan, bottom, material);
    // Battens are worth their trouble only where they save room.
    if (best &&
        (options.empty() || takes_less_room(plan.carton, *best, options.front().arrangement))) {
      options.insert(options.begin(), option_of(plan, *best));
    }
  }
  return options;
}

}  // namespace

Result<StackingAdvice, DomainError> stacking_advice_from(const StackingPlan& plan) {
  if (const auto checked = check_plan(plan); !checked) {
    return Failure{checked.error()};
  }
  StackingAdvice advice{.planned = option_of(plan, plan.planned),
                        .better = {},
                        .quickest = option_of(plan, {plan.cartons, 1, 1, StackBottom::on_battens})};
  if (advice.planned.grade != StackingGrade::whole_range) {
    advice.better = options_in_time(plan, physics::kSlowStack);
  }
  if (advice.planned.grade == StackingGrade::not_in_time && advice.better.empty()) {
    advice.better = options_in_time(plan, physics::kMidStack);
  }
  return advice;
}

}  // namespace analysis::readiness
