// The truth of a simulated site: weather, room, slab and cartons together, advanced on a fixed grid
// of steps so that the result does not depend on when it is asked. Seeded. One thread.
#pragma once

#include <cstdint>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "firmware-sim/sim/physics/noise.hpp"
#include "firmware-sim/sim/site/room_truth.hpp"
#include "firmware-sim/sim/site/slab_truth.hpp"
#include "firmware-sim/sim/site/stack_truth.hpp"
#include "firmware-sim/sim/site/weather.hpp"

namespace firmware::sim::site {

// Sun and people in the room by day: a half sine between two hours of each day.
struct DaytimeGains {
  double from_hour_utc = 7.0;
  double to_hour_utc = 17.0;
  double most_w = 700.0;
  double most_vapour_kg_per_h = 0.07;
};

struct SiteParameters {
  DaytimeGains gains;
  WeatherParameters weather;
  RoomParameters room;
  SlabParameters slab;
  StackParameters stack;
};

// What probes at their places would find, without any error of theirs.
struct SiteState {
  analysis::base::UtcMicros at;
  analysis::base::Celsius outdoor_temperature;
  analysis::base::RelativeHumidity outdoor_rh;
  analysis::base::Celsius air_temperature;
  analysis::base::RelativeHumidity air_rh;
  analysis::base::Celsius core_temperature;  // of the room air until the cartons are there
  analysis::base::Celsius slab_surface_temperature;
  analysis::base::RelativeHumidity slab_rh;         // at probe depth
  analysis::base::KelvinDelta condensation_margin;  // slab surface above the dew point of the air
};

class SiteTruth {
 public:
  SiteTruth(const SiteParameters& parameters, analysis::base::UtcMicros start, std::uint64_t seed);

  // Runs the truth to the first grid point at or after `at`. Times before are ignored.
  void advance_to(analysis::base::UtcMicros at);
  // Between the two grid points around `at`. REQUIRES: advance_to(at) was the last one.
  [[nodiscard]] SiteState state_at(analysis::base::UtcMicros at) const;

  // From the next grid step on.
  void set_heater_works(bool works) { heater_works_ = works; }
  void deliver_cartons();

  [[nodiscard]] const RoomTruth& room() const { return room_; }
  [[nodiscard]] const SlabTruth& slab() const { return slab_; }
  [[nodiscard]] const StackTruth& stack() const { return stack_; }

 private:
  void step();
  [[nodiscard]] SiteState snapshot(analysis::base::UtcMicros at) const;

  SiteParameters parameters_;
  physics::Noise noise_;
  Weather weather_;
  RoomTruth room_;
  SlabTruth slab_;
  StackTruth stack_;
  bool heater_works_ = true;
  bool delivered_ = false;
  double to_stack_w_ = 0.0;
  double slab_vapour_kg_per_s_ = 0.0;
  SiteState before_;
  SiteState now_;
};

}  // namespace firmware::sim::site
