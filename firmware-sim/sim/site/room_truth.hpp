// Heat and moisture balance of one room: air, walls, slab top and slab body as four lumps, vapour
// as one. Backward Euler, so that any step is stable and both balances close to rounding.
// One thread.
#pragma once

#include <array>

#include "analysis/base/units.hpp"

namespace firmware::sim::site {

struct RoomParameters {
  double floor_m2 = 20.0;
  double height_m = 2.5;
  double air_changes_per_h = 0.35;
  double light_envelope_w_per_k = 42.0;  // windows and doors, air to outdoors
  double wall_film_w_per_k = 190.0;      // air to the inner mass of the walls
  double wall_to_outdoors_w_per_k = 9.0;
  double wall_j_per_k = 6.0e6;
  double air_and_contents_j_per_k = 3.5e5;   // with light things that follow the air
  double floor_film_w_per_m2k = 6.5;         // air to slab surface
  double slab_conductance_w_per_m2k = 25.0;  // surface layer to slab body
  double slab_surface_j_per_m2k = 5.0e4;
  double slab_body_j_per_m2k = 1.6e5;
  double slab_to_ground_w_per_m2k = 0.35;
  double ground_celsius = 11.0;
  double heater_max_w = 3000.0;
  double thermostat_celsius = 20.9;
  double thermostat_band_k = 2.0;         // full power this far below, none above
  double humidifier_rh_fraction = 0.525;  // works below, in proportion to the shortfall
  double humidifier_max_kg_per_h = 0.35;
  double dryer_rh_fraction = 0.53;  // works above, in proportion to the excess
  double dryer_max_kg_per_h = 0.20;
  double control_band_rh_fraction = 0.06;  // shortfall or excess that asks for full output
  double start_celsius = 20.0;
  double start_rh_fraction = 0.515;
};

// What acts on the room during one step.
struct RoomForcing {
  analysis::base::Celsius outdoor_temperature;
  analysis::base::RelativeHumidity outdoor_rh;
  bool heater_works = true;
  double gain_w = 0.0;                // sun and people
  double gain_kg_per_s = 0.0;         // vapour of people
  double to_stack_w = 0.0;            // heat that the cartons take
  double slab_vapour_kg_per_s = 0.0;  // that the drying slab gives off
};

// Sums since the start, for closing the balances. Positive = into the room.
struct RoomLedger {
  double heater_j = 0.0;
  double gain_j = 0.0;
  double outdoors_j = 0.0;
  double ground_j = 0.0;
  double stack_j = 0.0;
  double gain_kg = 0.0;
  double slab_vapour_kg = 0.0;
  double outdoors_vapour_kg = 0.0;
  double humidifier_kg = 0.0;
  double dryer_kg = 0.0;      // never positive
  double condensed_kg = 0.0;  // never positive; on walls and panes when the air is saturated
};

class RoomTruth {
 public:
  explicit RoomTruth(const RoomParameters& parameters);

  // REQUIRES: step_s > 0.
  void advance(double step_s, const RoomForcing& forcing);

  [[nodiscard]] analysis::base::Celsius air_temperature() const;
  [[nodiscard]] analysis::base::RelativeHumidity air_rh() const;
  [[nodiscard]] analysis::base::AbsoluteHumidity air_vapour() const;
  [[nodiscard]] analysis::base::Celsius slab_surface_temperature() const;
  [[nodiscard]] analysis::base::Celsius slab_temperature() const;

  [[nodiscard]] const RoomLedger& ledger() const { return ledger_; }
  [[nodiscard]] double stored_heat_j() const;  // above 0 deg C
  [[nodiscard]] double stored_vapour_kg() const;
  [[nodiscard]] const RoomParameters& parameters() const { return parameters_; }

 private:
  static constexpr std::size_t kLumps = 4;  // air, walls, slab surface, slab body
  using Lumps = std::array<double, kLumps>;

  void advance_heat(double step_s, const RoomForcing& forcing);
  void advance_vapour(double step_s, const RoomForcing& forcing);
  [[nodiscard]] double heater_w(bool works) const;
  [[nodiscard]] double ventilation_m3_per_s() const;
  [[nodiscard]] double volume_m3() const;

  RoomParameters parameters_;
  Lumps capacity_j_per_k_{};
  Lumps celsius_{};
  double vapour_kg_per_m3_ = 0.0;
  RoomLedger ledger_;
};

}  // namespace firmware::sim::site
