#include "analysis/readiness/verdict.hpp"

#include <algorithm>

#include "analysis/readiness/gates/gates.hpp"

namespace analysis::readiness {
namespace {

void append(std::vector<GateResult>& results, std::optional<GateResult> result) {
  if (result) {
    results.push_back(std::move(*result));
  }
}

// The sum over the measured gates bounds the probability that one of them is wrong.
std::optional<double> wrong_probability_of(const std::vector<GateResult>& results,
                                           const FloorRequirements& requirements,
                                           const RoomEvidence& evidence) {
  double sum = 0.0;
  for (const GateResult& result : results) {
    if (!gates::is_measured(result.id, requirements, evidence)) {
      continue;
    }
    if (!result.wrong_probability) {
      return std::nullopt;
    }
    sum += *result.wrong_probability;
  }
  return std::min(sum, 1.0);
}

bool any(const std::vector<GateResult>& results, GateState state) {
  return std::any_of(results.begin(), results.end(),
                     [state](const GateResult& result) { return result.state == state; });
}

// If the room stays as it is: the newest interval counted and its readings go on. The hours end
// that much after the newest reading, at the earliest now.
std::optional<UtcMicros> expected_end(const FloorRequirements& requirements,
                                      const RoomEvidence& evidence, double hours_left) {
  const DwellState& dwell = evidence.dwell;
  if (!dwell.counting || hours_left <= 0.0 ||
      gates::trailing_unknown(requirements, evidence) > Micros{0}) {
    return std::nullopt;
  }
  return std::max(evidence.now, dwell.previous->at + base::micros_from_hours(hours_left));
}

}  // namespace

std::string_view name_of(Verdict verdict) {
  switch (verdict) {
    case Verdict::ready:
      return "ready";
    case Verdict::not_ready:
      return "not ready";
    case Verdict::cannot_tell:
      break;
  }
  return "cannot tell";
}

std::string_view name_of(GateState state) {
  switch (state) {
    case GateState::met:
      return "met";
    case GateState::not_met:
      return "not met";
    case GateState::unknown:
      break;
  }
  return "unknown";
}

RoomAssessment assess_room(const FloorRequirements& requirements, const RoomEvidence& evidence) {
  RoomAssessment assessment;
  assessment.at = evidence.now;
  std::vector<GateResult>& results = assessment.gates;
  append(results, gates::delivery_gate(evidence));
  append(results, gates::dwell_gate(requirements, evidence));
  append(results, gates::stack_core_gate(requirements, evidence));
  append(results, gates::slab_gate(requirements, evidence));
  append(results, gates::slab_emission_gate(requirements, evidence));
  append(results, gates::slab_carbide_gate(requirements, evidence));
  append(results, gates::wood_subfloor_gate(requirements, evidence));
  append(results, gates::slab_age_gate(requirements, evidence));
  append(results, gates::condensation_gate(requirements, evidence));
  append(results, gates::evidence_gate(requirements, evidence));
  for (const SiteGate gate : requirements.site_gates) {
    append(results, gates::site_gate(gate, requirements, evidence));
  }
  assessment.verdict = any(results, GateState::not_met)   ? Verdict::not_ready
                       : any(results, GateState::unknown) ? Verdict::cannot_tell
                                                          : Verdict::ready;
  const DwellState& dwell = evidence.dwell;
  assessment.dwell_done_hours = dwell.in_band_seconds / 3600.0;
  assessment.dwell_left_hours =
      std::max(base::hours_from(requirements.dwell.value) - assessment.dwell_done_hours, 0.0);
  assessment.dwell_done_at = dwell.done_at;
  assessment.dwell_expected_at = expected_end(requirements, evidence, assessment.dwell_left_hours);
  assessment.wrong_ready_probability = wrong_probability_of(results, requirements, evidence);
  assessment.unknown_share = gates::unknown_share_of(requirements, evidence);
  return assessment;
}

}  // namespace analysis::readiness
