#include "analysis/readiness/slab/slab_tests.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

using namespace analysis::readiness;
using analysis::base::micros_from_hours;
using analysis::physics::DomainError;

namespace {

using Problems = std::vector<SlabTestProblem>;
constexpr double kSquareMetresPerSquareFoot = 0.09290304;

DishTest dish(double grams, double square_feet, double hours) {
  return {Kilograms{grams / 1000.0}, SquareMetres{square_feet * kSquareMetresPerSquareFoot},
          micros_from_hours(hours)};
}
double pounds(const DishTest& test) {
  return pounds_per_1000_square_feet_day_from(emission_rate_from(test).value());
}
RhInSlabTest good_rh_test() {
  RhInSlabTest test;
  test.thickness = Metres{0.10};
  test.floor = SquareMetres{60.0};
  test.service_conditions_held = micros_from_hours(48);
  test.places.assign(3, {Metres{0.04}, RelativeHumidity{0.74}, micros_from_hours(24)});
  return test;
}
EmissionSurvey good_survey() {
  EmissionSurvey survey;
  survey.floor = SquareMetres{60.0};
  survey.service_conditions_held = micros_from_hours(48);
  survey.dishes.assign(3, dish(1.5, 0.46, 66));
  return survey;
}
Problems rh_problems(const RhInSlabTest& test, const RhTestRules& rules = {}) {
  return rh_in_slab_outcome_from(test, rules, RelativeHumidity{0.75}).value().problems;
}
Problems dish_problems(const EmissionSurvey& survey) {
  return emission_outcome_from(survey, {}, EmissionRate{0.015}).value().problems;
}

}  // namespace

TEST_CASE("PlacesGrowWithTheFloor") {
  // Source: ASTM F2170-09 10.1 by a secondary summary: three for 1000 ft2, one more for each 1000.
  const double rows[][2] = {{10, 3}, {93, 3}, {93.1, 4}, {186, 4}, {187, 5}, {400, 7}};
  for (const auto& row : rows) {
    INFO(row[0] << " m2");
    CHECK(places_required_from_area(SquareMetres{row[0]}).value() ==
          static_cast<std::size_t>(row[1]));
  }
  for (const double area : {0.0, -5.0, 2e6, std::nan("")}) {
    CHECK(places_required_from_area(SquareMetres{area}).error() ==
          DomainError::length_out_of_domain);
  }
}

TEST_CASE("RhIsTakenAtTwoFifthsOrOneFifth") {
  CHECK(rh_test_depth_from(Metres{0.1}, false).value().value() == Approx(0.04));
  CHECK(rh_test_depth_from(Metres{0.1}, true).value().value() == Approx(0.02));
  CHECK_FALSE(rh_test_depth_from(Metres{0.0}, false).has_value());
  CHECK_FALSE(rh_test_depth_from(Metres{1.1}, false).has_value());
}

TEST_CASE("RhInSlabIsJudgedByItsWettestPlace") {
  RhInSlabTest test = good_rh_test();
  test.places[1].rh = RelativeHumidity{0.76};
  const auto outcome = rh_in_slab_outcome_from(test, {}, RelativeHumidity{0.75}).value();
  CHECK(outcome.highest.value() == 0.76);
  CHECK_FALSE(outcome.highest_within_limit);
  CHECK(outcome.places_required == 3);
  CHECK(outcome.problems.empty());
  CHECK(rh_in_slab_outcome_from(test, {}, RelativeHumidity{0.76}).value().highest_within_limit);
}

TEST_CASE("RhInSlabNamesEachProblem") {
  CHECK(rh_problems(good_rh_test()).empty());
  RhInSlabTest test = good_rh_test();
  test.floor = SquareMetres{100.0};
  CHECK(rh_problems(test) == Problems{SlabTestProblem::too_few_places});
  test = good_rh_test();
  test.places[2].depth = Metres{0.047};
  CHECK(rh_problems(test) == Problems{SlabTestProblem::wrong_depth});
  test.places[2].depth = Metres{0.046};
  CHECK(rh_problems(test).empty());
  test.dries_from_both_faces = true;
  CHECK(rh_problems(test) == Problems{SlabTestProblem::wrong_depth});
  test = good_rh_test();
  test.service_conditions_held = micros_from_hours(47.9);
  CHECK(rh_problems(test) == Problems{SlabTestProblem::service_conditions_too_short});
  test = good_rh_test();
  test.places[0].equilibrated_for = micros_from_hours(23.9);
  CHECK(rh_problems(test) == Problems{SlabTestProblem::not_equilibrated});
}

TEST_CASE("OlderEditionsAskForThreeDaysInTheSleeve") {
  // Source: three secondary summaries of 2018: 72 h up to -16, 24 h from -18.
  RhTestRules older;
  older.equilibration = micros_from_hours(72);
  CHECK(rh_problems(good_rh_test(), older) == Problems{SlabTestProblem::not_equilibrated});
}

TEST_CASE("RhInSlabOutsideItsDomainIsRefused") {
  const auto error = [](const RhInSlabTest& test) {
    return rh_in_slab_outcome_from(test, {}, RelativeHumidity{0.75}).error();
  };
  RhInSlabTest test = good_rh_test();
  test.places.clear();
  CHECK(error(test) == DomainError::length_out_of_domain);
  test = good_rh_test();
  test.thickness = Metres{-1.0};
  CHECK(error(test) == DomainError::length_out_of_domain);
  for (const double rh : {-0.01, 1.06, std::nan("")}) {
    test = good_rh_test();
    test.places[1].rh = RelativeHumidity{rh};
    CHECK(error(test) == DomainError::rh_out_of_domain);
  }
}

TEST_CASE("EmissionRateAgreesWithTheDishFormula") {
  // Source: 52.91 g gained / (area in ft2 * hours), the constant 24 * 1000 / 453.59237 (form from
  // memory); 1e-4 of the worked values.
  CHECK(pounds(dish(3.0, 0.4586, 72)) == Approx(4.8073).margin(1e-4));
  CHECK(pounds(dish(4.0, 0.46, 66)) == Approx(6.9711).margin(2e-4));
  CHECK(pounds(dish(6.0, 0.46, 66)) == Approx(10.4565).margin(3e-4));
  CHECK(grams_per_square_metre_day_from(emission_rate_from(dish(6.0, 0.46, 66)).value()) ==
        Approx(51.054).margin(1e-3));
}

TEST_CASE("EmissionUnitsConvertByTheirDefinitions") {
  // 1 lb/1000 ft2/24 h = 4.88243 g/m2/24 h = 56.51 ug/(m2 s).
  const EmissionRate one = emission_rate_from_pounds_per_1000_square_feet_day(1.0);
  CHECK(grams_per_square_metre_day_from(one) == Approx(4.88243).epsilon(1e-6));
  CHECK(one.value() * 1e9 / 86400.0 == Approx(56.51).epsilon(1e-4));
  CHECK(pounds_per_1000_square_feet_day_from(one) == Approx(1.0).epsilon(1e-14));
}

TEST_CASE("PublishedAverageEmissionAndLossGiveThePublishedDays") {
  // Source: Brewer 1965 (PCA) as tabulated by Suprenant and Malisch: water-cement ratio 0.40,
  // 4-inch slab: 6.8 lb/1000 ft2/24 h on average while 0.3 lb/ft2 leave, until 3 lb. 46 d from
  // memory. An emission is no RH: nothing of the drying model is checked by it.
  const double lost_kg_per_m2 = 0.3 * 0.45359237 / 0.09290304;
  const double days =
      lost_kg_per_m2 / emission_rate_from_pounds_per_1000_square_feet_day(6.8).value();
  CHECK(days == Approx(44.1).epsilon(0.001));
  CHECK(days == Approx(46.0).epsilon(0.05));
}

TEST_CASE("EmissionUncertaintyCombinesMassAreaAndTime") {
  // Source: worked by hand: 0.1 g of 6, 1 % of area, 0.25 of 66 h: 1.98 %.
  const DishTest test = dish(6.0, 0.46, 66);
  const double rate = emission_rate_from(test).value().value();
  CHECK(emission_uncertainty_from(test, {}).value().value() / rate == Approx(0.0198).margin(5e-5));
}

TEST_CASE("EmissionUncertaintyFollowsFromItsDerivatives") {
  // Each part alone against a central difference of the rate.
  const DishTest test = dish(2.5, 0.5, 63);
  const auto rate_of = [](DishTest each, double mass, double area, double hours) {
    each.mass_gain = Kilograms{each.mass_gain.value() + mass};
    each.covered_area = SquareMetres{each.covered_area.value() * (1.0 + area)};
    each.exposure += micros_from_hours(hours);
    return emission_rate_from(each).value().value();
  };
  const DishUncertainty mass_only{Kilograms{1e-6}, 0.0, Micros{0}};
  const DishUncertainty area_only{Kilograms{0.0}, 1e-4, Micros{0}};
  const DishUncertainty time_only{Kilograms{0.0}, 0.0, micros_from_hours(0.01)};
  CHECK(emission_uncertainty_from(test, mass_only).value().value() ==
        Approx(0.5 * (rate_of(test, 1e-6, 0, 0) - rate_of(test, -1e-6, 0, 0))).epsilon(1e-6));
  CHECK(emission_uncertainty_from(test, area_only).value().value() ==
        Approx(0.5 * (rate_of(test, 0, -1e-4, 0) - rate_of(test, 0, 1e-4, 0))).epsilon(1e-6));
  CHECK(emission_uncertainty_from(test, time_only).value().value() ==
        Approx(0.5 * (rate_of(test, 0, 0, -0.01) - rate_of(test, 0, 0, 0.01))).epsilon(1e-6));
}

TEST_CASE("EmissionIsJudgedByItsWettestDish") {
  EmissionSurvey survey = good_survey();
  survey.dishes[1] = dish(2.0, 0.46, 66);
  const EmissionRate limit = emission_rate_from_pounds_per_1000_square_feet_day(3.0);
  const auto outcome = emission_outcome_from(survey, {}, limit).value();
  CHECK(outcome.highest == emission_rate_from(survey.dishes[1]).value());
  CHECK(outcome.standard_uncertainty ==
        emission_uncertainty_from(survey.dishes[1], survey.uncertainty).value());
  CHECK_FALSE(outcome.highest_within_limit);
  CHECK(emission_outcome_from(good_survey(), {}, limit).value().highest_within_limit);
}

TEST_CASE("DishNamesEachProblem") {
  CHECK(dish_problems(good_survey()).empty());
  EmissionSurvey survey = good_survey();
  survey.dishes[0] = dish(1.5, 0.46, 59.9);
  CHECK(dish_problems(survey) == Problems{SlabTestProblem::exposure_too_short});
  survey.dishes[0] = dish(1.5, 0.46, 72.1);
  CHECK(dish_problems(survey) == Problems{SlabTestProblem::exposure_too_long});
  for (const double hours : {60.0, 72.0}) {
    survey.dishes[0] = dish(1.5, 0.46, hours);
    CHECK(dish_problems(survey).empty());
  }
  survey.dishes[0] = dish(-0.1, 0.46, 66);
  CHECK(dish_problems(survey) == Problems{SlabTestProblem::no_mass_gained});
  survey = good_survey();
  survey.service_conditions_held = micros_from_hours(24);
  survey.dishes.pop_back();
  CHECK(dish_problems(survey) ==
        Problems{SlabTestProblem::too_few_places, SlabTestProblem::service_conditions_too_short});
}

TEST_CASE("DishOutsideItsDomainIsRefused") {
  for (const double area : {0.0, -0.4, 11.0, std::nan("")}) {
    CHECK(emission_rate_from(dish(1.0, area, 66)).error() == DomainError::length_out_of_domain);
  }
  CHECK(emission_rate_from(dish(1.0, 0.46, 0)).error() == DomainError::duration_out_of_domain);
  CHECK(emission_uncertainty_from(dish(1.0, 0.46, -1), {}).error() ==
        DomainError::duration_out_of_domain);
  EmissionSurvey survey = good_survey();
  survey.dishes.clear();
  CHECK_FALSE(emission_outcome_from(survey, {}, EmissionRate{0.01}).has_value());
}

TEST_CASE("CarbideLimitsDependOnBinderHeatingAndEdition") {
  // Source: joint declaration of two German screed associations, 2005; DIN 18560-1:2015 by two
  // secondary summaries, which give 0.5 for calcium sulfate heated or not.
  using enum CarbideEdition;
  const auto percent = [](ScreedBinder binder, bool heated, CarbideEdition edition) {
    return percent_from_carbide(carbide_limit_from(binder, heated, edition));
  };
  for (const CarbideEdition edition : {joint_declaration_2005, din_18560_1_2015}) {
    CHECK(percent(ScreedBinder::cement, false, edition) == Approx(2.0));
    CHECK(percent(ScreedBinder::cement, true, edition) == Approx(1.8));
    CHECK(percent(ScreedBinder::calcium_sulfate, false, edition) == Approx(0.5));
  }
  CHECK(percent(ScreedBinder::calcium_sulfate, true, joint_declaration_2005) == Approx(0.3));
  CHECK(percent(ScreedBinder::calcium_sulfate, true, din_18560_1_2015) == Approx(0.5));
}

TEST_CASE("CarbideSamplesGrowWithTheFloor") {
  // Source: a secondary summary: one per 200 m2; heated two places in a room, three above 50 m2.
  const auto samples = [](double area, bool heated) {
    return carbide_samples_required_from(SquareMetres{area}, heated).value();
  };
  CHECK(samples(20, false) == 1);
  CHECK(samples(200, false) == 1);
  CHECK(samples(201, false) == 2);
  CHECK(samples(50, true) == 2);
  CHECK(samples(51, true) == 3);
  CHECK_FALSE(carbide_samples_required_from(SquareMetres{0.0}, true).has_value());
}

TEST_CASE("CarbideIsJudgedByItsWettestSample") {
  CarbideSurvey survey;
  survey.floor = SquareMetres{40.0};
  survey.heated = true;
  survey.samples = {carbide_from_percent(1.7), carbide_from_percent(1.9)};
  const CarbideMoisture limit = carbide_from_percent(1.8);
  const auto outcome = carbide_outcome_from(survey, limit).value();
  CHECK(percent_from_carbide(outcome.highest) == Approx(1.9));
  CHECK_FALSE(outcome.highest_within_limit);
  CHECK(outcome.problems.empty());
  survey.samples.pop_back();
  const auto fewer = carbide_outcome_from(survey, limit).value();
  CHECK(fewer.highest_within_limit);
  CHECK(fewer.problems == Problems{SlabTestProblem::too_few_places});
  for (const double percent : {-0.1, 15.1, std::nan("")}) {
    survey.samples = {carbide_from_percent(percent)};
    CHECK(carbide_outcome_from(survey, limit).error() ==
          DomainError::moisture_content_out_of_domain);
  }
  survey.samples.clear();
  CHECK_FALSE(carbide_outcome_from(survey, limit).has_value());
}
