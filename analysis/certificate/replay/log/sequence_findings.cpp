#include "analysis/certificate/replay/log/sequence_findings.hpp"

#include <algorithm>

namespace analysis::certificate {
namespace {

std::string name_of(const BootOfBox& boot) {
  return "box " + boot.first + ", boot " + std::to_string(boot.second);
}

class BootWalk {
 public:
  BootWalk(const BootOfBox& name, const PlannedBoot& boot, SequenceFindings& findings)
      : name_(name), records_(boot.records), gaps_(boot.gaps), findings_(findings) {
    std::ranges::sort(gaps_, {}, [](const PlannedGap& g) { return g.gap.first_sequence; });
  }

  // False when none of the boot's records is among the readings.
  bool walk() {
    const auto first = std::ranges::find(records_, true, &PlannedRecords::in_readings);
    if (first == records_.end()) {
      return false;
    }
    auto end = records_.end();
    while (!(end - 1)->in_readings) {
      --end;
    }
    // From the record before the readings to the one after them, where they are shown.
    const auto from = first == records_.begin() ? first : first - 1;
    const auto to = end == records_.end() ? end : end + 1;
    for (auto at = from + 1; at < to; ++at) {
      look_at_hole((at - 1)->last_sequence + 1, at->first_sequence - 1);
    }
    if (from == first && !is_covered(1, first->first_sequence - 1)) {
      findings_.open_ends.push_back(name_of(name_) + " before sequence " +
                                    std::to_string(first->first_sequence));
    }
    if (to == end) {
      findings_.open_ends.push_back(name_of(name_) + " after sequence " +
                                    std::to_string((end - 1)->last_sequence));
    }
    return true;
  }

 private:
  // Notes the losses that cover it; gives the first sequence that none covers.
  std::optional<std::int64_t> first_uncovered(std::int64_t first, std::int64_t last) {
    for (const PlannedGap& gap : gaps_) {
      if (first > last || gap.gap.first_sequence > first) {
        break;
      }
      if (gap.gap.last_sequence >= first) {
        findings_.explaining.push_back(gap);
        first = gap.gap.last_sequence + 1;
      }
    }
    return first <= last ? std::optional(first) : std::nullopt;
  }
  bool is_covered(std::int64_t first, std::int64_t last) {
    return !first_uncovered(first, last).has_value();
  }

  void look_at_hole(std::int64_t first, std::int64_t last) {
    const auto uncovered = first_uncovered(first, last);
    if (uncovered && !findings_.unexplained) {
      findings_.unexplained = name_of(name_) + ": sequence " + std::to_string(*uncovered) + " to " +
                              std::to_string(last) +
                              " is neither shown nor noted as lost in the log: an entry that is "
                              "shown as a hash only may be that record";
    }
  }

  const BootOfBox& name_;
  const std::vector<PlannedRecords>& records_;
  std::vector<PlannedGap> gaps_;
  SequenceFindings& findings_;
};

}  // namespace

SequenceFindings sequence_findings_from(const LogPlan& plan) {
  SequenceFindings findings;
  std::optional<BootOfBox> before;
  for (const auto& [name, boot] : plan.boots()) {
    if (name.second == 0) {
      findings.imports.push_back(name.first);
      continue;
    }
    if (!BootWalk(name, boot, findings).walk()) {
      continue;
    }
    if (before && before->first == name.first && before->second + 1 < name.second) {
      findings.open_ends.push_back("box " + name.first + " between the boots " +
                                   std::to_string(before->second) + " and " +
                                   std::to_string(name.second));
    }
    before = name;
  }
  return findings;
}

}  // namespace analysis::certificate
