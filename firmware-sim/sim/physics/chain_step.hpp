// Solver for the chains of cells of slab and stack. No state.
#pragma once

#include <cstddef>
#include <vector>

namespace firmware::sim::physics {

// One implicit step of a chain: capacity[i] (x'[i] - x[i]) = sum of link flows, with
// link[i] between cells i and i+1 and `end_link` from cell 0 to the value `end`; the far end is
// closed. Capacities and links are per step. REQUIRES: link.size() == x.size() - 1, x not empty.
inline std::vector<double> chain_step(const std::vector<double>& x, double capacity,
                                      const std::vector<double>& link, double end_link,
                                      double end) {
  const std::size_t n = x.size();
  std::vector<double> upper(n, 0.0);
  std::vector<double> result(n, 0.0);
  double before = 0.0;  // link to the cell before, already eliminated
  for (std::size_t i = 0; i < n; ++i) {
    const double after = i + 1 < n ? link[i] : 0.0;
    const double to_end = i == 0 ? end_link : 0.0;
    double diagonal = capacity + before + after + to_end;
    double right = capacity * x[i] + to_end * end;
    if (i > 0) {
      diagonal += before * upper[i - 1];
      right += before * result[i - 1];
    }
    upper[i] = -after / diagonal;
    result[i] = right / diagonal;
    before = after;
  }
  for (std::size_t i = n - 1; i-- > 0;) {
    result[i] -= upper[i] * result[i + 1];
  }
  return result;
}

}  // namespace firmware::sim::physics
