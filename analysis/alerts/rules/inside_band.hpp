// Where a value lies in a band that an alert fires outside of and clears inside of. Internal to the
// folder.
#pragma once

#include <algorithm>
#include <optional>

namespace analysis::alerts {

// How far inside the band the air must be before an alert ends. Common practice, no source. A
// narrow band would otherwise leave no room to clear in, so at most a quarter of its width.
inline constexpr double kClearMarginKelvin = 0.3;
inline constexpr double kClearMarginRh = 0.01;

struct Inside {
  std::optional<bool> band;   // nullopt = value not known
  std::optional<bool> inner;  // inside by the clear margin
};

template <class Quantity>
Inside inside_from_value(std::optional<Quantity> value, Quantity low, Quantity high,
                         double clear_margin) {
  if (!value) {
    return {};
  }
  const double margin = std::min(clear_margin, (high.value() - low.value()) / 4.0);
  return {*value >= low && *value <= high,
          value->value() >= low.value() + margin && value->value() <= high.value() - margin};
}

// Three-valued: one false decides, else one unknown leaves it open.
inline std::optional<bool> both(std::optional<bool> a, std::optional<bool> b) {
  if ((a && !*a) || (b && !*b)) {
    return false;
  }
  return a && b ? std::optional(true) : std::nullopt;
}

inline std::optional<bool> negated(std::optional<bool> value) {
  return value ? std::optional(!*value) : std::nullopt;
}

}  // namespace analysis::alerts
