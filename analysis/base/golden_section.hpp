// Where a function of one variable is least.
#pragma once

#include <utility>

namespace analysis::base {

inline constexpr double kGoldenShare = 0.6180339887498949;  // (sqrt(5) - 1) / 2

// Smallest value of a function with one valley between `low` and `high`, and where it is. Each of
// the `sections` leaves kGoldenShare of the interval and costs one call; two more begin it.
template <class Function>
[[nodiscard]] std::pair<double, double> lowest_of(double low, double high, int sections,
                                                  Function function) {
  double a = high - kGoldenShare * (high - low);
  double b = low + kGoldenShare * (high - low);
  double at_a = function(a);
  double at_b = function(b);
  for (int i = 0; i < sections; ++i) {
    if (at_a <= at_b) {
      high = b;
      b = a;
      at_b = at_a;
      a = high - kGoldenShare * (high - low);
      at_a = function(a);
    } else {
      low = a;
      a = b;
      at_a = at_b;
      b = low + kGoldenShare * (high - low);
      at_b = function(b);
    }
  }
  return {at_a <= at_b ? at_a : at_b, at_a <= at_b ? a : b};
}

}  // namespace analysis::base
