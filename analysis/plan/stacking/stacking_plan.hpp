// How to stack the cartons, and when to bring them, so that dwell and core are done by the day of
// laying. Pure; the heat is that of analysis/physics/stack.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/physics/stack/stack_heat.hpp"

namespace analysis::plan {

using base::Celsius;
using base::KelvinDelta;
using base::Kilograms;
using base::Metres;
using base::Micros;
using base::SquareMetres;

// Round each stack, so that the room reaches its sides; common practice, no source.
inline constexpr Metres kStackAir{0.10};

struct CartonSize {
  Metres length;
  Metres width;
  Metres height;
  Kilograms mass;
};
// Of the place where they are to lie. Common practice, no source, but for what job.json says.
struct StackingSite {
  Celsius room;                        // as it is kept
  Celsius cartons_come_at;             // the coldest that is to be expected
  KelvinDelta core_limit{1.0};         // warmed through = within this of the room
  Micros dwell{0};                     // in the band, in closed cartons
  SquareMetres free_floor;             // that may be covered
  double most_load_kg_per_m2 = 200.0;  // what the floor may bear, dead load taken off already
  int most_cartons_high = 6;
};

// `stacks` of the same shape; the last one may be lower.
struct Stacking {
  int stacks = 0;
  int cartons_high = 0;
  int cartons_wide = 0;  // side by side without space
  bool on_battens = false;
  Micros warm_up{0};  // of one stack, with the slow material; at the end of the horizon = longer
  bool warms_up = true;
  SquareMetres covers;          // floor under the stacks, and 10 cm of air round each
  double load_kg_per_m2 = 0.0;  // under a stack
  Micros lead{0};               // from delivery to laying: the longer of dwell and warm-up
};

// What fewer stacks are worth: a delivery so much earlier than the shortest lead. Our assumption.
inline constexpr Micros kLeadAlike{24LL * 3600 * 1'000'000};
// Of what the floor may bear: a stack up to here is light. Our assumption.
inline constexpr double kLightShare = 0.75;

// Every shape that the floor bears and has room for, best first. First those within kLeadAlike of
// the shortest lead: of these the light ones, then fewest stacks, then lowest, shortest lead. Then
// the others by lead, fewest stacks, lowest. Error, one clause: no cartons; nothing fits (says what
// stands against it), which is also said of sizes out of the domain of the heat in a stack.
[[nodiscard]] base::Result<std::vector<Stacking>, std::string> stackings_for(
    int cartons, const CartonSize& carton, const StackingSite& site);

}  // namespace analysis::plan
