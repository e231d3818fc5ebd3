// Which pieces are cut from one panel. Pure.
//
// A panel gives at most one first and one last piece of a run: only one of its ends each is as it
// came. Pieces between two walls need neither and are cut from what has no partner.
#pragma once

#include <cstddef>
#include <vector>

#include "analysis/plan/layout/panel_run.hpp"
#include "analysis/plan/layout/row_layout.hpp"

namespace analysis::plan {

// The largest number of pairs with a sum up to `room`. Both lists are sorted; what is called gets
// places in them: a pair, a first piece without a partner, a last one without. Short firsts take
// the longest lasts that fit, which leaves the short lasts for the long firsts. O(n).
template <class OnPair, class OnFirst, class OnLast>
int pair_up(const std::vector<double>& firsts, const std::vector<double>& lasts, double room,
            OnPair on_pair, OnFirst on_first, OnLast on_last) {
  int pairs = 0;
  std::size_t left = lasts.size();
  for (std::size_t i = 0; i < firsts.size(); ++i) {
    while (left > 0 && firsts[i] + lasts[left - 1] > room + kSameLength) {
      on_last(--left);
    }
    if (left == 0) {
      on_first(i);
      continue;
    }
    on_pair(i, --left);
    ++pairs;
  }
  while (left > 0) {
    on_last(--left);
  }
  return pairs;
}

// Each length, the longest first, into the rest it fits most tightly, else into a new panel, which
// is put at the end of `rests_m`. `on_place` gets the place of the length and that of the rest.
template <class OnPlace>
void place_in_rests(const std::vector<double>& longest_first_m, std::vector<double>& rests_m,
                    const RunRules& rules, OnPlace on_place) {
  for (std::size_t i = 0; i < longest_first_m.size(); ++i) {
    std::size_t best = rests_m.size();
    for (std::size_t j = 0; j < rests_m.size(); ++j) {
      if (rests_m[j] >= longest_first_m[i] - kSameLength &&
          (best == rests_m.size() || rests_m[j] < rests_m[best])) {
        best = j;
      }
    }
    if (best == rests_m.size()) {
      rests_m.push_back(rules.panel_m);
    }
    rests_m[best] -= longest_first_m[i] + rules.saw_cut_m;
    on_place(i, best);
  }
}

struct PanelUse {
  std::vector<std::vector<Piece>> runs;  // as the runs that were asked for
  int panels = 0;
};
// Panels numbered in the order of laying. Of all ways that need the fewest panels, one that uses
// rests soon after they are cut.
[[nodiscard]] PanelUse panel_use_from(const std::vector<PanelRun>& runs,
                                      const std::vector<double>& starts_m, const RunRules& rules);

}  // namespace analysis::plan
