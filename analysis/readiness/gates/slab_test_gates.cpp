// Gates about the tests a person makes below the floor: probes read by hand, dish and carbide on a
// slab, pins in wood, each in its own unit.
#include <algorithm>
#include <cmath>
#include <utility>

#include "analysis/readiness/gates/gate_parts.hpp"
#include "analysis/readiness/gates/gates.hpp"
#include "analysis/readiness/slab/test_times.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"

namespace analysis::readiness::gates {
namespace {

// How one kind of test is named and written.
struct TestKind {
  const char* gate_id;
  const char* name;
  std::string (*text_of)(double);  // of a value in the unit of the test's Quantity, with its unit
  ReasonKey drying = ReasonKey::advice_dry_slab;
};

std::string emission_text(double kilograms_per_m2_day) {
  return text_from_number(grams_per_square_metre_day_from(EmissionRate{kilograms_per_m2_day})) +
         " g/m² in 24 h";
}
std::string carbide_text(double fraction) {
  return text_from_number(percent_from_carbide(CarbideMoisture{fraction}), 2) + " CM-%";
}

constexpr TestKind kEmission{"slab_emission", "dish test", emission_text};
std::string moisture_text(double fraction) { return text_from_share(fraction); }

// A reading beyond a tenth must not look equal to a limit that it breaks.
std::string probe_text(double fraction) {
  const double tenths = fraction * 1000.0;
  return text_from_rh(RelativeHumidity{fraction},
                      std::abs(tenths - std::round(tenths)) < 1e-6 ? 1 : 3);
}

constexpr TestKind kProbes{"slab", "probe test", probe_text};
constexpr TestKind kCarbide{"slab_carbide", "carbide test", carbide_text};
constexpr TestKind kWood{"wood_subfloor", "pin test of the wood", moisture_text,
                         ReasonKey::advice_dry_wood};

// Meter, correction and spread between boards together: our assumption.
constexpr base::MoistureContent kWoodUncertainty{0.01};

// What a test was asked to keep; of a dish and a probe only what it has.
struct TestDemands {
  std::size_t places = 0;
  Micros service_conditions{0};
  Micros equilibration{0};
  Metres depth{0.0};
};

std::string problem_text(SlabTestProblem problem, const TestDemands& asked) {
  const auto said = [](ReasonKey key, std::string required) {
    return text_from(key, {{"required", std::move(required)}}).reason;
  };
  switch (problem) {
    case SlabTestProblem::too_few_places:
      return said(ReasonKey::slab_test_too_few, std::to_string(asked.places));
    case SlabTestProblem::service_conditions_too_short:
      return said(ReasonKey::slab_test_service_conditions,
                  text_from_whole_hours(asked.service_conditions));
    case SlabTestProblem::exposure_too_short:
      return text_from(ReasonKey::slab_test_too_short, {}).reason;
    case SlabTestProblem::exposure_too_long:
      return text_from(ReasonKey::slab_test_too_long, {}).reason;
    case SlabTestProblem::no_mass_gained:
      return text_from(ReasonKey::slab_test_no_gain, {}).reason;
    case SlabTestProblem::wrong_depth:
      return said(ReasonKey::slab_test_wrong_depth, text_from_millimetres(asked.depth));
    case SlabTestProblem::not_equilibrated:
      return said(ReasonKey::slab_test_not_equilibrated,
                  text_from_whole_hours(asked.equilibration));
  }
  return {};
}

std::string problems_text(const std::vector<SlabTestProblem>& problems, const TestDemands& asked) {
  std::string text;
  for (const SlabTestProblem problem : problems) {
    text += (text.empty() ? "" : "; ") + problem_text(problem, asked);
  }
  return text;
}

struct TestMade {
  UtcMicros at;
  std::string problems;  // empty = it counts
};

template <class Value>
GateResult test_result(const TestKind& kind, const FloorRequirements& r, const Limit<Value>& limit,
                       const SlabTestOutcome<Value>& outcome, const TestMade& made) {
  const std::string date = text_from_date(made.at);
  const double u = outcome.standard_uncertainty.value();
  const double guard = guard_from(r, u).value_or(0.0);
  const double value = outcome.highest.value();
  const double highest = limit.value.value() - guard;
  const bool dry = value <= highest;
  // One wet place refuses a floor, however few were tested.
  const bool only_too_few = std::ranges::all_of(outcome.problems, [](SlabTestProblem problem) {
    return problem == SlabTestProblem::too_few_places;
  });
  if (!made.problems.empty() && (dry || !only_too_few)) {
    return gate_from(kind.gate_id, GateState::unknown, ReasonKey::slab_test_problem,
                     {{"test", kind.name}, {"date", date}, {"problems", made.problems}});
  }
  GateResult result = gate_from(
      kind.gate_id, dry ? GateState::met : GateState::not_met,
      dry ? ReasonKey::slab_test_met : ReasonKey::slab_test_too_wet,
      {{"test", kind.name},
       {"date", date},
       {"value", kind.text_of(value)},
       {"uncertainty", kind.text_of(kCoverageFactor * u)},
       {"limit", kind.text_of(limit.value.value())},
       {"drying", text_from(kind.drying, {}).action},
       {"guard",
        guard_text_from(ReasonKey::guard_less_part, r, kind.text_of(guard), kind.text_of(highest))},
       {"source", limit.source}});
  if (dry) {
    result.wrong_probability =
        1.0 - conformance_probability({std::nullopt, limit.value.value()}, value, u);
  }
  return result;
}

template <class Value>
GateResult not_made(const TestKind& kind, const Limit<Value>& limit) {
  return gate_from(kind.gate_id, GateState::unknown, ReasonKey::slab_test_missing,
                   {{"test", kind.name},
                    {"limit", kind.text_of(limit.value.value())},
                    {"source", limit.source}});
}

GateResult not_computable(const TestKind& kind, UtcMicros at) {
  return gate_from(kind.gate_id, GateState::unknown, ReasonKey::slab_test_problem,
                   {{"test", kind.name},
                    {"date", text_from_date(at)},
                    {"problems", text_from(ReasonKey::slab_test_impossible, {}).reason}});
}

// A meter that corrects for temperature by itself leaves only the species to be corrected.
base::Result<base::MoistureContent, physics::DomainError> wood_moisture_from(
    const WoodTestNote& note, const WoodReading& reading) {
  if (note.compensation == physics::MeterCompensation::none) {
    return physics::mc_from_resistance_reading(reading.shown, reading.wood, note.compensation,
                                               note.species);
  }
  const double mc =
      (reading.shown.value() - note.species.offset_mc_kg_per_kg) / note.species.slope_kg_per_kg;
  if (!(mc > 0.0)) {
    return base::Failure{physics::DomainError::moisture_content_out_of_domain};
  }
  return base::MoistureContent{mc};
}

}  // namespace

std::optional<GateResult> slab_emission_gate(const FloorRequirements& r,
                                             const RoomEvidence& evidence) {
  if (!r.slab || !r.slab->emission_high) {
    return std::nullopt;
  }
  const Limit<EmissionRate>& limit = *r.slab->emission_high;
  const auto& note = evidence.subfloor_tests.dish;
  if (!note) {
    return not_made(kEmission, limit);
  }
  const DishTestRules rules;
  const auto outcome = emission_outcome_from(note->survey, rules, limit.value);
  if (!outcome) {
    return not_computable(kEmission, note->at);
  }
  const TestDemands asked{outcome.value().places_required, rules.service_conditions};
  return test_result(kEmission, r, limit, outcome.value(),
                     {note->at, problems_text(outcome.value().problems, asked)});
}

std::optional<HandReadSlab> hand_read_slab_from(const FloorRequirements& r,
                                                const RoomEvidence& evidence) {
  const auto& note = evidence.subfloor_tests.rh;
  if (!note) {
    return std::nullopt;
  }
  const RhTestRules rules = rh_test_rules_from(*r.slab);
  RhInSlabTest test = note->test;
  test.places_required = places_asked_from(*r.slab);
  const auto outcome = rh_in_slab_outcome_from(test, rules, r.slab->rh_high.value);
  HandReadSlab found{not_computable(kProbes, note->at), text_from_date(note->at),
                     text_from(ReasonKey::slab_test_impossible, {}).reason, std::nullopt};
  if (!outcome) {
    return found;
  }
  const TestDemands asked{outcome.value().places_required, rules.service_conditions,
                          rules.equilibration,
                          rh_test_depth_from(test.thickness, test.dries_from_both_faces).value()};
  found.problems = problems_text(outcome.value().problems, asked);
  found.highest = outcome.value().highest;
  found.result =
      test_result(kProbes, r, r.slab->rh_high, outcome.value(), {note->at, found.problems});
  return found;
}

std::optional<GateResult> wood_subfloor_gate(const FloorRequirements& r,
                                             const RoomEvidence& evidence) {
  if (!r.wood_subfloor_high) {
    return std::nullopt;
  }
  const Limit<base::MoistureContent>& limit = *r.wood_subfloor_high;
  const auto& note = evidence.subfloor_tests.wood;
  if (!note) {
    return not_made(kWood, limit);
  }
  SlabTestOutcome<base::MoistureContent> outcome{};
  outcome.standard_uncertainty = kWoodUncertainty;
  for (const WoodReading& reading : note->readings) {
    const auto corrected = wood_moisture_from(*note, reading);
    if (!corrected) {
      return not_computable(kWood, note->at);
    }
    outcome.highest = std::max(outcome.highest, corrected.value());
  }
  return test_result(kWood, r, limit, outcome, {note->at, {}});
}

std::optional<GateResult> slab_carbide_gate(const FloorRequirements& r,
                                            const RoomEvidence& evidence) {
  if (!r.slab || !r.slab->carbide_high) {
    return std::nullopt;
  }
  const Limit<CarbideMoisture>& limit = *r.slab->carbide_high;
  const auto& note = evidence.subfloor_tests.carbide;
  if (!note) {
    return not_made(kCarbide, limit);
  }
  const auto outcome = carbide_outcome_from(note->survey, limit.value);
  if (!outcome) {
    return not_computable(kCarbide, note->at);
  }
  return test_result(kCarbide, r, limit, outcome.value(),
                     {note->at, problems_text(outcome.value().problems,
                                              TestDemands{outcome.value().places_required})});
}

}  // namespace analysis::readiness::gates
