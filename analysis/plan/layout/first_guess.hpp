// First pieces that a search begins from (run_starts.hpp). Pure. One for each run, by row.
#pragma once

#include <vector>

#include "analysis/plan/layout/panel_run.hpp"

namespace analysis::plan {

// First pieces of the simple rule of the trade: a run begins with what the run before left over
// where the rules allow it, else with the longest piece that they allow, in steps of 1 cm.
[[nodiscard]] std::vector<double> starts_by_simple_rule(const std::vector<PanelRun>& runs,
                                                        const RunRules& rules);

// Panels that first pieces need when a rest is used in the very next run or never, as the simple
// rule does.
[[nodiscard]] int panels_in_order(const std::vector<PanelRun>& runs,
                                  const std::vector<double>& starts_m, const RunRules& rules);

// Every joint of a row at one phase of the panel length, chosen for all rows together so that as
// few rules as can be are broken: for where the rules leave little choice. REQUIRES: a run.
[[nodiscard]] std::vector<double> starts_by_phases(const std::vector<PanelRun>& runs,
                                                   const RunRules& rules);

}  // namespace analysis::plan
