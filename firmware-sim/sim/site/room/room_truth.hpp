// Heat and moisture balance of one room. Heat: air, walls, slab top, slab body and panes as five
// lumps. Water: air, a store in walls and contents, films on panes and floor. Both by backward
// Euler, one after the other, equipment by the air at the start of a step; both balances close to
// rounding. The equations are in docs/site-truth.md. One thread.
#pragma once

#include <array>
#include <cstddef>

#include "analysis/base/units.hpp"
#include "firmware-sim/sim/physics/vapour_step.hpp"
#include "firmware-sim/sim/site/room/room_parameters.hpp"

namespace firmware::sim::site {

struct RoomForcing {
  analysis::base::Celsius outdoor_temperature;
  analysis::base::RelativeHumidity outdoor_rh;
  RoomControls controls;
  double gain_w = 0.0;                // sun and whatever is not people
  double gain_kg_per_s = 0.0;         // vapour of the same
  double to_stack_w = 0.0;            // heat that the cartons take
  double slab_vapour_kg_per_s = 0.0;  // that the drying slab gives off
  double wet_trade_kg_per_s = 0.0;    // evaporating from plaster, paint, levelling compound
};

// Sums since the start, for closing the balances. Positive = into the room.
struct HeatLedger {
  double heater_j = 0.0;
  double cooling_j = 0.0;  // never positive; what the air loses, without the water
  double people_j = 0.0;
  double gain_j = 0.0;
  double dryer_j = 0.0;   // current of the dryer
  double latent_j = 0.0;  // water condensing in the room (positive) and evaporating in it
  double outdoors_j = 0.0;
  double ground_j = 0.0;
  double stack_j = 0.0;
};
struct WaterLedger {
  double heater_kg = 0.0;
  double cooling_kg = 0.0;  // never positive; drained outdoors
  double people_kg = 0.0;
  double gain_kg = 0.0;
  double humidifier_kg = 0.0;
  double dryer_kg = 0.0;  // never positive
  double slab_kg = 0.0;
  double wet_trade_kg = 0.0;
  double outdoors_kg = 0.0;
  double run_off_kg = 0.0;  // never positive; from the panes
};

class RoomTruth {
 public:
  explicit RoomTruth(const RoomParameters& parameters);

  // REQUIRES: 0 < step_s <= 120.
  void advance(double step_s, const RoomForcing& forcing);

  [[nodiscard]] analysis::base::Celsius air_temperature() const;
  [[nodiscard]] analysis::base::RelativeHumidity air_rh() const;
  [[nodiscard]] analysis::base::AbsoluteHumidity air_vapour() const;
  [[nodiscard]] analysis::base::Celsius slab_surface_temperature() const;
  [[nodiscard]] analysis::base::Celsius slab_temperature() const;
  [[nodiscard]] analysis::base::Celsius wall_temperature() const;
  [[nodiscard]] analysis::base::Celsius pane_temperature() const;
  // Of the air's vapour at the slab's surface: what the slab answers to. At most 1.
  [[nodiscard]] analysis::base::RelativeHumidity rh_at_slab_surface() const;
  [[nodiscard]] analysis::base::RelativeHumidity buffer_rh() const;
  [[nodiscard]] analysis::base::Kilograms pane_film() const;
  [[nodiscard]] analysis::base::Kilograms floor_film() const;

  [[nodiscard]] const HeatLedger& heat() const { return heat_; }
  [[nodiscard]] const WaterLedger& water() const { return water_; }
  [[nodiscard]] double stored_heat_j() const;    // above 0 deg C, without the water's
  [[nodiscard]] double stored_water_kg() const;  // air, walls and contents, films

 private:
  static constexpr std::size_t kLumps = 5;
  using Lumps = std::array<double, kLumps>;

  // What runs within a step, by the air at its start.
  struct Equipment {
    double heater_w = 0.0;
    double coil_m3_per_s = 0.0;  // of air brought to the coil's state
    double humidifier_kg_per_s = 0.0;
    double dryer_kg_per_s = 0.0;
  };

  [[nodiscard]] Equipment running(double step_s, const RoomControls& controls) const;
  // Books what comes from nothing in the room or leaves it as liquid; returns its sum, kg/s.
  double add_sources(double step_s, const RoomForcing& forcing, const Equipment& equipment);
  // Returns the heat set free in each lump by condensing water, W; negative = evaporating.
  Lumps advance_water(double step_s, const RoomForcing& forcing, const Equipment& equipment);
  void advance_heat(double step_s, const RoomForcing& forcing, const Equipment& equipment,
                    const Lumps& latent_w);
  [[nodiscard]] physics::VapourExchange film_exchange(double area_m2, std::size_t lump,
                                                      double film_kg) const;
  [[nodiscard]] physics::VapourExchange store_exchange(double step_s) const;
  void let_pane_run_off();
  // Sets vapour beyond saturation down on the floor.
  void settle_fog();
  [[nodiscard]] double ventilation_m3_per_s(const RoomControls& controls) const;
  [[nodiscard]] double volume_m3() const;
  [[nodiscard]] double buffer_kg() const;  // that the store takes from RH 0 to 1

  RoomParameters parameters_;
  Lumps capacity_j_per_k_{};
  Lumps celsius_{};
  double vapour_kg_per_m3_ = 0.0;
  double buffer_rh_ = 0.0;
  double pane_film_kg_ = 0.0;
  double floor_film_kg_ = 0.0;
  HeatLedger heat_;
  WaterLedger water_;
};

}  // namespace firmware::sim::site
