// The truth of a simulated site: weather, room, slab and cartons together, and the air of places
// around, advanced on a fixed grid of steps so that the result does not depend on when it is asked.
// Seeded. One thread.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "firmware-sim/sim/physics/noise.hpp"
#include "firmware-sim/sim/site/place/box_place.hpp"
#include "firmware-sim/sim/site/place/place_air.hpp"
#include "firmware-sim/sim/site/place/site_state.hpp"
#include "firmware-sim/sim/site/room/room_truth.hpp"
#include "firmware-sim/sim/site/site_parameters.hpp"
#include "firmware-sim/sim/site/solids/slab_truth.hpp"
#include "firmware-sim/sim/site/solids/stack_truth.hpp"
#include "firmware-sim/sim/site/weather/weather.hpp"

namespace firmware::sim::site {

class SiteTruth {
 public:
  SiteTruth(const SiteParameters& parameters, analysis::base::UtcMicros start, std::uint64_t seed);

  // Runs the truth to the first grid point at or after `at`. Times before are ignored.
  void advance_to(analysis::base::UtcMicros at);
  // Between the two grid points around `at`, at probes in the room or at another place, where all
  // of them hang in the air. REQUIRES: advance_to(at) was the last one.
  [[nodiscard]] SiteState state_at(analysis::base::UtcMicros at) const;
  [[nodiscard]] SiteState state_at(analysis::base::UtcMicros at, BoxPlace place) const;

  // What people on site do; acts from the next grid step on.
  [[nodiscard]] RoomControls& controls() { return controls_; }
  void deliver_cartons() {
    deliver_cartons(analysis::base::Celsius{parameters_.stack.delivery_celsius});
  }
  void deliver_cartons(analysis::base::Celsius cartons);
  // Brings `water` into the room in plaster, paint or levelling compound. It evaporates in
  // proportion to how dry the air is: within `in_air_of_half_rh` in air of 50 %RH.
  // REQUIRES: both positive.
  void start_wet_trade(analysis::base::Kilograms water, analysis::base::Micros in_air_of_half_rh);

  [[nodiscard]] const RoomTruth& room() const { return room_; }
  [[nodiscard]] const SlabTruth& slab() const { return slab_; }
  [[nodiscard]] const StackTruth& stack() const { return stack_; }
  [[nodiscard]] double wet_trade_kg() const;  // not evaporated yet

 private:
  struct WetTrade {
    double left_kg = 0.0;
    double kg_per_s = 0.0;  // in air of 50 %RH
  };
  using Places = std::array<PlaceAir, kBoxPlaces - 2>;  // all but the room and the outdoors

  void step();
  double evaporate_kg(double step_s);
  [[nodiscard]] PlaceForcing place_forcing(analysis::base::UtcMicros at) const;
  // By BoxPlace, without condensation margin: state_at adds it where it is asked for.
  [[nodiscard]] std::array<SiteState, kBoxPlaces> snapshot(analysis::base::UtcMicros at) const;

  SiteParameters parameters_;
  physics::Noise noise_;
  Weather weather_;
  physics::WanderingNoise clouds_;
  RoomTruth room_;
  SlabTruth slab_;
  StackTruth stack_;
  Places places_;
  RoomControls controls_;
  std::vector<WetTrade> wet_trades_;
  bool delivered_ = false;
  std::array<SiteState, kBoxPlaces> before_;
  std::array<SiteState, kBoxPlaces> now_;
};

}  // namespace firmware::sim::site
