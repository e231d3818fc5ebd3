#include "analysis/readiness/requirements.hpp"

#include "analysis/readiness/uncertainty/conformance.hpp"

namespace analysis::readiness {
namespace {

struct SiteGateName {
  SiteGate gate;
  std::string_view name;
};
constexpr SiteGateName kSiteGateNames[] = {
    {SiteGate::room_kind, "room_kind"},
    {SiteGate::heating_kind, "heating_kind"},
    {SiteGate::flat, "flat"},
    {SiteGate::clean, "clean"},
    {SiteGate::solid, "solid"},
    {SiteGate::old_glue_removed, "old_glue_removed"},
    {SiteGate::vapour_barrier, "vapour_barrier"},
    {SiteGate::conditioned, "conditioned"},
};

ClimateBand plain_band_from(const FloorRequirements& r) {
  return {r.temperature_low.value, r.temperature_high.value, r.rh_low.value, r.rh_high.value};
}

// REQUIRES: both uncertainties known.
ClimateBand guarded_band_from(const FloorRequirements& r, const AirUncertainty& air) {
  const ClimateBand plain = plain_band_from(r);
  const ToleranceInterval temperature = guarded_from(
      {plain.temperature_low.value(), plain.temperature_high.value()}, air.temperature->value());
  const ToleranceInterval rh =
      guarded_from({plain.rh_low.value(), plain.rh_high.value()}, air.rh->value());
  return {Celsius{*temperature.low}, Celsius{*temperature.high}, RelativeHumidity{*rh.low},
          RelativeHumidity{*rh.high}};
}

}  // namespace

std::string_view name_of(DecisionRule rule) {
  return rule == DecisionRule::guarded ? "guarded" : "simple";
}

std::optional<DecisionRule> decision_rule_from_name(std::string_view name) {
  for (const DecisionRule rule : {DecisionRule::simple, DecisionRule::guarded}) {
    if (name == name_of(rule)) {
      return rule;
    }
  }
  return std::nullopt;
}

std::string_view name_of(SiteGate gate) {
  for (const SiteGateName& entry : kSiteGateNames) {
    if (entry.gate == gate) {
      return entry.name;
    }
  }
  return "unknown_gate";
}

std::optional<SiteGate> site_gate_from_name(std::string_view name) {
  for (const SiteGateName& entry : kSiteGateNames) {
    if (entry.name == name) {
      return entry.gate;
    }
  }
  return std::nullopt;
}

const std::vector<SiteGate>& all_site_gates() {
  static const std::vector<SiteGate> gates = [] {
    std::vector<SiteGate> all;
    for (const SiteGateName& entry : kSiteGateNames) {
      all.push_back(entry.gate);
    }
    return all;
  }();
  return gates;
}

GuardState guard_state_from(const FloorRequirements& requirements, const AirUncertainty& air) {
  if (requirements.decision.value == DecisionRule::simple) {
    return GuardState::none;
  }
  if (!air.temperature || !air.rh) {
    return GuardState::accuracy_unknown;
  }
  const ClimateBand band = guarded_band_from(requirements, air);
  const bool some = band.temperature_low <= band.temperature_high && band.rh_low <= band.rh_high;
  return some ? GuardState::drawn_in : GuardState::nothing_left;
}

DwellPolicy dwell_policy_from(const FloorRequirements& requirements, const AirUncertainty& air) {
  DwellPolicy policy;
  policy.band = guard_state_from(requirements, air) == GuardState::drawn_in
                    ? guarded_band_from(requirements, air)
                    : plain_band_from(requirements);
  policy.required = requirements.dwell.value;
  policy.longest_interval = requirements.longest_interval.value;
  policy.grace = requirements.grace.value;
  policy.excursion_budget = requirements.excursion_budget.value;
  policy.longest_unknown = requirements.longest_unknown.value;
  policy.cumulative = requirements.cumulative;
  return policy;
}

}  // namespace analysis::readiness
