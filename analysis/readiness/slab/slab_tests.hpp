// Moisture tests a person makes on a slab or screed, each judged in its own unit against the job's
// limit in that unit. None is converted into another: they measure different things. Pure. A result
// with problems is still a value, but not one that the practice it names would accept.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "analysis/physics/domain_error.hpp"

namespace analysis::readiness {

using base::Kilograms;
using base::Metres;
using base::Micros;
using base::RelativeHumidity;
using base::SquareMetres;

using EmissionRate = base::Quantity<struct EmissionRateTag>;  // kg water per m2 and day
using CarbideMoisture =
    base::Quantity<struct CarbideMoistureTag>;  // kg/kg by carbide; 0.02 = 2 CM-%

// 1 lb/1000 ft2/24 h = 4.88243 g/m2/24 h (453.59237 g and 92.90304 m2, exact).
[[nodiscard]] double pounds_per_1000_square_feet_day_from(EmissionRate rate);
[[nodiscard]] EmissionRate emission_rate_from_pounds_per_1000_square_feet_day(double pounds);
[[nodiscard]] double grams_per_square_metre_day_from(EmissionRate rate);
[[nodiscard]] double percent_from_carbide(CarbideMoisture moisture);
[[nodiscard]] CarbideMoisture carbide_from_percent(double cm_percent);

// Values are permanent (stored and signed).
enum class SlabTestProblem : std::uint8_t {
  too_few_places = 1,
  wrong_depth = 2,
  not_equilibrated = 3,              // the probe sat too short a time
  service_conditions_too_short = 4,  // room and slab as in use, before the test
  exposure_too_short = 5,
  exposure_too_long = 6,
  no_mass_gained = 7,
};

template <class Value>
struct SlabTestOutcome {
  std::vector<Value> values;          // one per place, in the order given
  Value highest;                      // this one is judged (our choice: the wettest place decides)
  Value standard_uncertainty;         // of the highest
  bool highest_within_limit = false;  // at or below, no guard band
  std::size_t places_required = 0;
  std::vector<SlabTestProblem> problems;  // each at most once, in the order of the enum
};

// Three places for the first 1000 ft2 and one for each further 1000 ft2 or part, the practice's
// 1000 ft2 taken as 93 m2. Source: ASTM F2170-09, 10.1, from a secondary summary; the same for
// F1869 from memory. length_out_of_domain unless 0 < area <= 1e6 m2.
[[nodiscard]] base::Result<std::size_t, physics::DomainError> places_required_from_area(
    SquareMetres floor);

// RH in drilled sleeves. Defaults by secondary summaries of ASTM F2170-18; editions up to -16 ask
// for 72 h in the sleeve. The tolerance of the depth is our assumption.
struct RhTestRules {
  Micros equilibration = base::micros_from_hours(24);
  Micros service_conditions = base::micros_from_hours(48);
  Metres depth_tolerance{0.006};
};
struct RhTestPlace {
  Metres depth;
  RelativeHumidity rh;
  Micros equilibrated_for{0};           // in its closed sleeve before it was read
  std::optional<base::Celsius> slab{};  // as the probe showed it
};
struct RhInSlabTest {
  Metres thickness;
  bool dries_from_both_faces = false;
  SquareMetres floor;
  Micros service_conditions_held{0};
  std::vector<RhTestPlace> places;               // at least one
  std::optional<std::size_t> places_required{};  // nullopt = by the floor's area
  RelativeHumidity standard_uncertainty{0.01};   // of one reading; our assumption
};

// 40 % of the thickness where it dries from one face, 20 % from two. Source: ASTM F2170-09, 10.2,
// from a secondary summary; the two are one law of drying (tests/slab). 0 < thickness <= 1 m.
[[nodiscard]] base::Result<Metres, physics::DomainError> rh_test_depth_from(
    Metres thickness, bool dries_from_both_faces);

// Errors: rh_out_of_domain (outside 0..1.05), length_out_of_domain; places empty likewise.
[[nodiscard]] base::Result<SlabTestOutcome<RelativeHumidity>, physics::DomainError>
rh_in_slab_outcome_from(const RhInSlabTest& test, const RhTestRules& rules, RelativeHumidity limit);

// Calcium chloride dish under a sealed cover. Source: ASTM F1869: unit and scope seen, exposure and
// conditions from a trade page, number of tests and formula from memory. The area is that under the
// cover of the kit used and has to be entered.
struct DishTestRules {
  Micros shortest_exposure = base::micros_from_hours(60);
  Micros longest_exposure = base::micros_from_hours(72);
  Micros service_conditions = base::micros_from_hours(48);
};
// Standard uncertainties; defaults are our assumption.
struct DishUncertainty {
  Kilograms mass_gain{0.1e-3};
  double relative_area = 0.01;
  Micros exposure = base::micros_from_hours(0.25);
};
struct DishTest {
  Kilograms mass_gain;
  SquareMetres covered_area;
  Micros exposure{0};
};
struct EmissionSurvey {
  SquareMetres floor;
  Micros service_conditions_held{0};
  std::vector<DishTest> dishes;  // at least one
  DishUncertainty uncertainty;
};

// Mass gained over area and time. length_out_of_domain unless 0 < area <= 1 m2;
// duration_out_of_domain unless the exposure is above 0. A loss of mass is a negative rate.
[[nodiscard]] base::Result<EmissionRate, physics::DomainError> emission_rate_from(
    const DishTest& dish);
// First order, the three parts independent.
[[nodiscard]] base::Result<EmissionRate, physics::DomainError> emission_uncertainty_from(
    const DishTest& dish, const DishUncertainty& uncertainty);
[[nodiscard]] base::Result<SlabTestOutcome<EmissionRate>, physics::DomainError>
emission_outcome_from(const EmissionSurvey& survey, const DishTestRules& rules, EmissionRate limit);

// Carbide (CM) test of a screed: the pressure instrument's own CM-%.
enum class ScreedBinder : std::uint8_t { cement = 1, calcium_sulfate = 2 };
enum class CarbideEdition : std::uint8_t {
  joint_declaration_2005 = 1,  // of two German screed associations: seen
  din_18560_1_2015 = 2,        // from two secondary summaries, which disagree with practice sheets
};
// Cement 2.0 CM-%, heated 1.8; calcium sulfate 0.5, heated 0.3 by the declaration and 0.5 by the
// standard.
[[nodiscard]] CarbideMoisture carbide_limit_from(ScreedBinder binder, bool heated,
                                                 CarbideEdition edition);

struct CarbideSurvey {
  SquareMetres floor;  // of the room where heated, of the whole floor otherwise
  bool heated = false;
  std::vector<CarbideMoisture> samples;         // at least one
  CarbideMoisture standard_uncertainty{0.001};  // of one sample; our assumption
};

// Unheated one per 200 m2 or part; heated two marked places in a room, three above 50 m2. Source: a
// secondary summary. Domain as of places_required_from_area.
[[nodiscard]] base::Result<std::size_t, physics::DomainError> carbide_samples_required_from(
    SquareMetres floor, bool heated);
// Errors: moisture_content_out_of_domain outside 0..0.15 or without samples.
[[nodiscard]] base::Result<SlabTestOutcome<CarbideMoisture>, physics::DomainError>
carbide_outcome_from(const CarbideSurvey& survey, CarbideMoisture limit);

}  // namespace analysis::readiness
