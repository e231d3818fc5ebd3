// The gates of a verdict, one function each. Pure; every limit comes from the requirements with its
// source. A gate whose input is missing is unknown, never met. assess_room puts them in order.
#pragma once

#include <optional>
#include <string_view>

#include "analysis/readiness/requirements.hpp"
#include "analysis/readiness/verdict.hpp"

namespace analysis::readiness::gates {

[[nodiscard]] GateResult delivery_gate(const RoomEvidence& evidence);
[[nodiscard]] GateResult dwell_gate(const FloorRequirements& requirements,
                                    const RoomEvidence& evidence);
// nullopt where the gate does not apply: no core probe required and none that gives values.
[[nodiscard]] std::optional<GateResult> stack_core_gate(const FloorRequirements& requirements,
                                                        const RoomEvidence& evidence);
// nullopt without a slab under the floor.
[[nodiscard]] std::optional<GateResult> slab_gate(const FloorRequirements& requirements,
                                                  const RoomEvidence& evidence);
// nullopt where the job sets no limit for that test.
[[nodiscard]] std::optional<GateResult> slab_emission_gate(const FloorRequirements& requirements,
                                                           const RoomEvidence& evidence);
[[nodiscard]] std::optional<GateResult> slab_carbide_gate(const FloorRequirements& requirements,
                                                          const RoomEvidence& evidence);
[[nodiscard]] std::optional<GateResult> wood_subfloor_gate(const FloorRequirements& requirements,
                                                           const RoomEvidence& evidence);
[[nodiscard]] std::optional<GateResult> slab_age_gate(const FloorRequirements& requirements,
                                                      const RoomEvidence& evidence);
// nullopt with neither a slab required nor a probe on its surface.
[[nodiscard]] std::optional<GateResult> condensation_gate(const FloorRequirements& requirements,
                                                          const RoomEvidence& evidence);
[[nodiscard]] GateResult evidence_gate(const FloorRequirements& requirements,
                                       const RoomEvidence& evidence);
[[nodiscard]] GateResult site_gate(SiteGate gate, const FloorRequirements& requirements,
                                   const RoomEvidence& evidence);

// Whether the gate of that id compares a measured value with a limit; a core that is only computed
// is none, its range is no statistical one.
[[nodiscard]] bool is_measured(std::string_view gate_id, const FloorRequirements& requirements,
                               const RoomEvidence& evidence);

// Time since the newest dwell reading that can no longer become a known interval; zero while the
// next reading may still come in time, and before the first reading.
[[nodiscard]] Micros trailing_unknown(const FloorRequirements& requirements,
                                      const RoomEvidence& evidence);

// Unknown share of the current run, or before the first run of the record since the delivery,
// trailing unknown time included; 1 where nothing was recorded.
[[nodiscard]] double unknown_share_of(const FloorRequirements& requirements,
                                      const RoomEvidence& evidence);

}  // namespace analysis::readiness::gates
