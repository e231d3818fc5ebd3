// Ticks of a time axis (UTC) and of a value axis, and numbers as text. Pure.
#pragma once

#include <algorithm>
#include <array>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"

namespace analysis::drawing {

// Fixed decimals, a point in every locale, never "-0.0". REQUIRES: finite value, decimals 0..6.
[[nodiscard]] std::string number_text(double value, int decimals);

using MonthNames = std::array<std::string, 12>;
inline const MonthNames kEnglishMonths{"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                       "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};

struct TimeTick {
  base::UtcMicros at;
  std::string label;  // empty = a minor tick
};
// Ticks inside the range, in order: labels at steps of minutes, hours, days, weeks or months that
// leave `label_width` (points) for each over `width`; minor ticks between where they help.
// Midnights carry the date ("18 Nov"), other hours the time ("06:00"), Januaries the year where the
// step is months. Empty for an empty range or no room for a label.
[[nodiscard]] std::vector<TimeTick> time_ticks(const base::TimeRange& range, double width,
                                               double label_width,
                                               const MonthNames& months = kEnglishMonths);

// Lowest and highest of the values taken so far.
struct ValueExtent {
  double low = 0.0;
  double high = 0.0;
  bool any = false;
  void take(double value) {
    low = any ? std::min(low, value) : value;
    high = any ? std::max(high, value) : value;
    any = true;
  }
};

// A range that ends on multiples of a round step (1, 2 or 5 times a power of ten).
struct ValueAxis {
  double low = 0.0;
  double high = 1.0;
  double step = 1.0;
  int decimals = 0;  // what labels of the steps need
};
// Holds all of low..high; equal ends get a range around them. REQUIRES: finite, most_steps >= 2
// (with one step no range across zero would fit).
[[nodiscard]] ValueAxis value_axis_from(double low, double high, int most_steps);
[[nodiscard]] std::vector<double> ticks_of(const ValueAxis& axis);

}  // namespace analysis::drawing
