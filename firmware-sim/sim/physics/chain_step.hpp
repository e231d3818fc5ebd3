// Solver for the chains of cells of slab and stack. One thread per object.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace firmware::sim::physics {

// Where a chain meets the air: at cell 0. The far end is closed.
struct ChainEnd {
  double link = 0.0;
  double value = 0.0;
};

class ChainStep {
 public:
  // One implicit step in place: capacity (x'[i] - x[i]) = sum of link flows, with link[i] between
  // cells i and i+1. Capacity and links are per step.
  // REQUIRES: link.size() == x.size() - 1, x not empty.
  void advance(std::span<double> x, double capacity, std::span<const double> link,
               const ChainEnd& end) {
    const std::size_t n = x.size();
    upper_.resize(n);
    double before = 0.0;  // link to the cell before, already eliminated
    for (std::size_t i = 0; i < n; ++i) {
      const double after = i + 1 < n ? link[i] : 0.0;
      const double to_end = i == 0 ? end.link : 0.0;
      double diagonal = capacity + before + after + to_end;
      double right = capacity * x[i] + to_end * end.value;
      if (i > 0) {
        diagonal += before * upper_[i - 1];
        right += before * x[i - 1];
      }
      upper_[i] = -after / diagonal;
      x[i] = right / diagonal;
      before = after;
    }
    for (std::size_t i = n - 1; i-- > 0;) {
      x[i] -= upper_[i] * x[i + 1];
    }
  }

 private:
  std::vector<double> upper_;
};

}  // namespace firmware::sim::physics
