// Gates about the tests a person makes below the floor: dish and carbide on a slab, pins in wood,
// each in its own unit.
#include <algorithm>

#include "analysis/readiness/gates/gate_parts.hpp"
#include "analysis/readiness/gates/gates.hpp"
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

constexpr TestKind kCarbide{"slab_carbide", "carbide test", carbide_text};
constexpr TestKind kWood{"wood_subfloor", "pin test of the wood", moisture_text,
                         ReasonKey::advice_dry_wood};

// Meter, correction and spread between boards together: our assumption.
constexpr base::MoistureContent kWoodUncertainty{0.01};

std::string problem_text(SlabTestProblem problem, std::size_t places_required) {
  switch (problem) {
    case SlabTestProblem::too_few_places:
      return text_from(ReasonKey::slab_test_too_few,
                       {{"required", std::to_string(places_required)}})
          .reason;
    case SlabTestProblem::service_conditions_too_short:
      return text_from(ReasonKey::slab_test_service_conditions, {}).reason;
    case SlabTestProblem::exposure_too_short:
      return text_from(ReasonKey::slab_test_too_short, {}).reason;
    case SlabTestProblem::exposure_too_long:
      return text_from(ReasonKey::slab_test_too_long, {}).reason;
    case SlabTestProblem::no_mass_gained:
      return text_from(ReasonKey::slab_test_no_gain, {}).reason;
    case SlabTestProblem::wrong_depth:
    case SlabTestProblem::not_equilibrated:
      break;  // of RH probes only
  }
  return {};
}

template <class Value>
GateResult test_result(const TestKind& kind, const FloorRequirements& r, const Limit<Value>& limit,
                       const SlabTestOutcome<Value>& outcome, UtcMicros at) {
  const std::string date = text_from_date(at);
  std::string problems;
  for (const SlabTestProblem problem : outcome.problems) {
    problems += (problems.empty() ? "" : "; ") + problem_text(problem, outcome.places_required);
  }
  if (!problems.empty()) {
    return gate_from(kind.gate_id, GateState::unknown, ReasonKey::slab_test_problem,
                     {{"test", kind.name}, {"date", date}, {"problems", problems}});
  }
  const double u = outcome.standard_uncertainty.value();
  const double guard = guard_from(r, u).value_or(0.0);
  const double value = outcome.highest.value();
  const double highest = limit.value.value() - guard;
  const bool dry = value <= highest;
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
  const auto outcome = emission_outcome_from(note->survey, {}, limit.value);
  return outcome ? test_result(kEmission, r, limit, outcome.value(), note->at)
                 : not_computable(kEmission, note->at);
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
  return test_result(kWood, r, limit, outcome, note->at);
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
  return outcome ? test_result(kCarbide, r, limit, outcome.value(), note->at)
                 : not_computable(kCarbide, note->at);
}

}  // namespace analysis::readiness::gates
