#include "analysis/readiness/slab/slab_tests.hpp"

#include <algorithm>
#include <cmath>

namespace analysis::readiness {
namespace {

using base::Failure;
using base::Result;
using physics::DomainError;

constexpr double kGramsPerPound = 453.59237;
constexpr double kSquareMetresPer1000SquareFeet = 92.90304;
constexpr double kPlaceAreaSquareMetres = 93.0;  // the practice's 1000 ft2
constexpr double kLargestFloorSquareMetres = 1e6;
constexpr double kCarbideUnheatedSquareMetres = 200.0;
constexpr double kCarbideSmallRoomSquareMetres = 50.0;

bool is_floor(SquareMetres floor) {
  return floor.value() > 0.0 && floor.value() <= kLargestFloorSquareMetres;
}

template <class Value>
void judge(SlabTestOutcome<Value>& outcome, Value limit) {
  outcome.highest = *std::max_element(outcome.values.begin(), outcome.values.end());
  outcome.highest_within_limit = outcome.highest <= limit;
}

void note(std::vector<SlabTestProblem>& problems, bool present, SlabTestProblem problem) {
  if (present) {
    problems.push_back(problem);
  }
}

}  // namespace

double pounds_per_1000_square_feet_day_from(EmissionRate rate) {
  return rate.value() * 1000.0 / kGramsPerPound * kSquareMetresPer1000SquareFeet;
}
EmissionRate emission_rate_from_pounds_per_1000_square_feet_day(double pounds) {
  return EmissionRate{pounds * kGramsPerPound / 1000.0 / kSquareMetresPer1000SquareFeet};
}
double grams_per_square_metre_day_from(EmissionRate rate) { return rate.value() * 1000.0; }
double percent_from_carbide(CarbideMoisture moisture) { return moisture.value() * 100.0; }
CarbideMoisture carbide_from_percent(double cm_percent) {
  return CarbideMoisture{cm_percent / 100.0};
}

Result<std::size_t, DomainError> places_required_from_area(SquareMetres floor) {
  if (!is_floor(floor)) {
    return Failure{DomainError::length_out_of_domain};
  }
  const double further =
      std::ceil(std::max(0.0, floor.value() - kPlaceAreaSquareMetres) / kPlaceAreaSquareMetres);
  return 3 + static_cast<std::size_t>(further);
}

Result<Metres, DomainError> rh_test_depth_from(Metres thickness, bool dries_from_both_faces) {
  if (!(thickness.value() > 0.0 && thickness.value() <= 1.0)) {
    return Failure{DomainError::length_out_of_domain};
  }
  return Metres{thickness.value() * (dries_from_both_faces ? 0.2 : 0.4)};
}

Result<SlabTestOutcome<RelativeHumidity>, DomainError> rh_in_slab_outcome_from(
    const RhInSlabTest& test, const RhTestRules& rules, RelativeHumidity limit) {
  const auto depth = rh_test_depth_from(test.thickness, test.dries_from_both_faces);
  const auto required = places_required_from_area(test.floor);
  if (!depth || !required || test.places.empty()) {
    return Failure{DomainError::length_out_of_domain};
  }
  SlabTestOutcome<RelativeHumidity> outcome;
  bool wrong_depth = false;
  bool too_early = false;
  for (const RhTestPlace& place : test.places) {
    if (!(place.rh.value() >= 0.0 && place.rh.value() <= 1.05)) {
      return Failure{DomainError::rh_out_of_domain};
    }
    outcome.values.push_back(place.rh);
    wrong_depth = wrong_depth || !(std::abs(place.depth.value() - depth.value().value()) <=
                                   rules.depth_tolerance.value() + 1e-9);
    too_early = too_early || place.equilibrated_for < rules.equilibration;
  }
  judge(outcome, limit);
  outcome.standard_uncertainty = test.standard_uncertainty;
  outcome.places_required = test.places_required.value_or(required.value());
  note(outcome.problems, test.places.size() < outcome.places_required,
       SlabTestProblem::too_few_places);
  note(outcome.problems, wrong_depth, SlabTestProblem::wrong_depth);
  note(outcome.problems, too_early, SlabTestProblem::not_equilibrated);
  note(outcome.problems, test.service_conditions_held < rules.service_conditions,
       SlabTestProblem::service_conditions_too_short);
  return outcome;
}

Result<EmissionRate, DomainError> emission_rate_from(const DishTest& dish) {
  if (!(dish.covered_area.value() > 0.0 && dish.covered_area.value() <= 1.0)) {
    return Failure{DomainError::length_out_of_domain};
  }
  if (dish.exposure <= Micros{0}) {
    return Failure{DomainError::duration_out_of_domain};
  }
  return EmissionRate{dish.mass_gain.value() /
                      (dish.covered_area.value() * base::days_from(dish.exposure))};
}

Result<EmissionRate, DomainError> emission_uncertainty_from(const DishTest& dish,
                                                            const DishUncertainty& uncertainty) {
  const auto rate = emission_rate_from(dish);
  if (!rate) {
    return rate;
  }
  const double area_days = dish.covered_area.value() * base::days_from(dish.exposure);
  const double from_mass = uncertainty.mass_gain.value() / area_days;
  const double from_area = rate.value().value() * uncertainty.relative_area;
  const double from_exposure =
      rate.value().value() * base::days_from(uncertainty.exposure) / base::days_from(dish.exposure);
  return EmissionRate{std::hypot(from_mass, from_area, from_exposure)};
}

Result<SlabTestOutcome<EmissionRate>, DomainError> emission_outcome_from(
    const EmissionSurvey& survey, const DishTestRules& rules, EmissionRate limit) {
  const auto required = places_required_from_area(survey.floor);
  if (!required || survey.dishes.empty()) {
    return Failure{DomainError::length_out_of_domain};
  }
  SlabTestOutcome<EmissionRate> outcome;
  bool too_short = false;
  bool too_long = false;
  bool no_gain = false;
  for (const DishTest& dish : survey.dishes) {
    const auto rate = emission_rate_from(dish);
    if (!rate) {
      return Failure{rate.error()};
    }
    if (outcome.values.empty() || rate.value() > outcome.highest) {
      outcome.highest = rate.value();
      outcome.standard_uncertainty = emission_uncertainty_from(dish, survey.uncertainty).value();
    }
    outcome.values.push_back(rate.value());
    too_short = too_short || dish.exposure < rules.shortest_exposure;
    too_long = too_long || dish.exposure > rules.longest_exposure;
    no_gain = no_gain || !(dish.mass_gain.value() > 0.0);
  }
  judge(outcome, limit);
  outcome.places_required = required.value();
  note(outcome.problems, survey.dishes.size() < required.value(), SlabTestProblem::too_few_places);
  note(outcome.problems, survey.service_conditions_held < rules.service_conditions,
       SlabTestProblem::service_conditions_too_short);
  note(outcome.problems, too_short, SlabTestProblem::exposure_too_short);
  note(outcome.problems, too_long, SlabTestProblem::exposure_too_long);
  note(outcome.problems, no_gain, SlabTestProblem::no_mass_gained);
  return outcome;
}

CarbideMoisture carbide_limit_from(ScreedBinder binder, bool heated, CarbideEdition edition) {
  if (binder == ScreedBinder::cement) {
    return carbide_from_percent(heated ? 1.8 : 2.0);
  }
  const bool lower = heated && edition == CarbideEdition::joint_declaration_2005;
  return carbide_from_percent(lower ? 0.3 : 0.5);
}

Result<std::size_t, DomainError> carbide_samples_required_from(SquareMetres floor, bool heated) {
  if (!is_floor(floor)) {
    return Failure{DomainError::length_out_of_domain};
  }
  if (heated) {
    return floor.value() > kCarbideSmallRoomSquareMetres ? 3U : 2U;
  }
  return static_cast<std::size_t>(std::ceil(floor.value() / kCarbideUnheatedSquareMetres));
}

Result<SlabTestOutcome<CarbideMoisture>, DomainError> carbide_outcome_from(
    const CarbideSurvey& survey, CarbideMoisture limit) {
  const auto required = carbide_samples_required_from(survey.floor, survey.heated);
  if (!required) {
    return Failure{required.error()};
  }
  const bool plausible =
      std::all_of(survey.samples.begin(), survey.samples.end(),
                  [](CarbideMoisture each) { return each.value() >= 0.0 && each.value() <= 0.15; });
  if (survey.samples.empty() || !plausible) {
    return Failure{DomainError::moisture_content_out_of_domain};
  }
  SlabTestOutcome<CarbideMoisture> outcome;
  outcome.values = survey.samples;
  judge(outcome, limit);
  outcome.standard_uncertainty = survey.standard_uncertainty;
  outcome.places_required = required.value();
  note(outcome.problems, survey.samples.size() < required.value(), SlabTestProblem::too_few_places);
  return outcome;
}

}  // namespace analysis::readiness
