#include "analysis/readiness/requirements.hpp"

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

}  // namespace

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

DwellPolicy dwell_policy_from(const FloorRequirements& requirements) {
  DwellPolicy policy;
  policy.band = {requirements.temperature_low.value, requirements.temperature_high.value,
                 requirements.rh_low.value, requirements.rh_high.value};
  policy.required = requirements.dwell.value;
  policy.longest_interval = requirements.longest_interval.value;
  policy.grace = requirements.grace.value;
  policy.excursion_budget = requirements.excursion_budget.value;
  policy.longest_unknown = requirements.longest_unknown.value;
  policy.cumulative = requirements.cumulative;
  return policy;
}

}  // namespace analysis::readiness
