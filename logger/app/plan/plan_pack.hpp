// The job pack out of the plan, the job and what was noted on the site.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "analysis/plan/pack/job_pack.hpp"
#include "analysis/readiness/verdict.hpp"
#include "logger/app/plan/plan_report.hpp"

namespace logger::app {

// What was noted so far, by room id.
using NotedGates = std::map<std::string, std::vector<analysis::readiness::SiteGateNote>>;

struct PackSource {
  const Job& job;
  const PlanReport& report;
  NotedGates noted;
  std::string job_sha256_hex;
  bool simulated = false;
  bool imperial = false;
};
// REQUIRES: job and report outlive the pack.
[[nodiscard]] analysis::plan::JobPack job_pack_from(const PackSource& source);

// Stacks, what is to be left free, heaters, pipes and test places in one drawing. `planned`
// outlives it.
[[nodiscard]] analysis::plan::SiteSheet site_sheet_of(const PlannedRoom& planned, bool imperial);

}  // namespace logger::app
