// Whether records of the certified boots can be hidden behind hashes of a log extract: each
// sequence between two that are shown is either shown too or noted as lost in the log. Pure.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/certificate/replay/log/log_plan.hpp"

namespace analysis::certificate {

struct SequenceFindings {
  // The first hole that no logged loss covers.
  std::optional<std::string> unexplained;
  // Where the losses that explain holes were noted.
  std::vector<PlannedGap> explaining;
  // Ends of boots, and whole boots, behind which a record could be hidden.
  std::vector<std::string> open_ends;
  // Boxes that are imports: their sequences are times, so that any row could be hidden.
  std::vector<std::string> imports;
};

// REQUIRES: the readings were taken into the plan.
[[nodiscard]] SequenceFindings sequence_findings_from(const LogPlan& plan);

}  // namespace analysis::certificate
