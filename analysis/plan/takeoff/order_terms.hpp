// How things are sold, beside the packs and rolls themselves: lengths of bars and tape, prices.
// Pure data.
#pragma once

#include <optional>
#include <string>

#include "analysis/base/units.hpp"

namespace analysis::plan {

// Of one pack, roll, bar or piece each, in the currency; what has none stays out of the sum.
struct Prices {
  std::string currency;  // "EUR"; empty = no prices
  std::optional<double> pack;
  std::optional<double> underlay_roll;
  std::optional<double> barrier_roll;
  std::optional<double> tape_roll;
  std::optional<double> trim_bar;
  std::optional<double> profile_bar;
  std::optional<double> spacer;
  bool operator==(const Prices&) const = default;
};

// Defaults: common practice, no source.
struct OrderTerms {
  base::Metres tape_roll{25.0};
  base::Metres profile_bar{2.4};
  Prices prices;
};

}  // namespace analysis::plan
