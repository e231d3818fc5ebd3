// What a simulated room is made of, what stands in it and what people set. Plain data. Every figure
// without a source is invented.
#pragma once

#include "analysis/base/units.hpp"

namespace firmware::sim::site {

struct HeaterParameters {
  double max_w = 3000.0;
  double thermostat_celsius = 20.9;
  double band_k = 2.0;  // full power this far below, none above
  // 0 = electric. Burning propane without a flue gives 0.127: C3H8 + 5 O2 -> 3 CO2 + 4 H2O is
  // 1.634 kg of water per kg, at a lower heating value of 46.4 MJ/kg (from memory).
  double water_kg_per_kwh = 0.0;
};

// An air conditioner: part of the air it moves leaves as if saturated at the coil's temperature
// (apparatus dew point and bypass factor; McQuiston and others, Heating, Ventilating and Air
// Conditioning, chapter 3, from memory). What condenses drains outdoors.
struct CoolingParameters {
  double flow_m3_per_s = 0.0;  // at full output; 0 = there is none
  double set_point_celsius = 24.0;
  double band_k = 1.0;            // full output this far above, none below
  double coil_celsius = 9.0;      // apparatus dew point
  double contact_fraction = 0.8;  // 1 - bypass factor
};

// Evaporates: its water takes the heat of vaporisation from the air.
struct HumidifierParameters {
  double rh_fraction = 0.525;  // works below, in proportion to the shortfall
  double max_kg_per_h = 0.35;
  double band_rh_fraction = 0.06;  // shortfall that asks for full output
};

// Condenses inside the room: heat of vaporisation and its own current warm the air.
struct DryerParameters {
  double rh_fraction = 0.53;  // works above, in proportion to the excess
  double max_kg_per_h = 0.20;
  double band_rh_fraction = 0.06;
  double electric_j_per_kg = 1.8e6;  // 0.5 kWh per litre: our assumption
};

// One person at light bench work. Source: ASHRAE Handbook Fundamentals 2017, chapter 18, table 1
// (from memory): 80 W sensible, 140 W latent, which is 0.2 kg of water an hour.
struct PersonParameters {
  double sensible_w = 80.0;
  double vapour_kg_per_h = 0.20;
};

// What walls, ceiling and contents take up within a day, as one node (effective penetration depth:
// Cunningham, Building and Environment 27, 1992, from memory). 0.04 kg/m2 from RH 0 to 1 is
// 0.4 g/(m2 %RH), a painted gypsum board in the measure of Rode and others, Moisture Buffering of
// Building Materials, 2005 (from memory).
struct BufferParameters {
  double area_m2 = 70.0;
  double kg_per_m2 = 0.04;
  double exchange_m_per_s = 1.3e-4;  // film, paint (0.2 m of still air) and half the depth
};

// The inner leaf of the panes.
struct PaneParameters {
  double area_m2 = 4.0;
  double u_w_per_m2k = 2.0;           // indoor air to outdoor air
  double inner_film_w_per_m2k = 7.7;  // ISO 6946: 0.13 m2K/W (from memory)
  double j_per_m2k = 8.0e3;           // 4 mm of glass
  double most_film_kg_per_m2 = 0.1;   // more runs off and is lost to the room
};

struct RoomParameters {
  double floor_m2 = 20.0;
  double height_m = 2.5;
  double air_changes_per_h = 0.35;
  double open_windows_per_h = 6.0;       // air changes with windows open
  double light_envelope_w_per_k = 34.0;  // frames, doors and light parts, air to outdoors
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
  // Vapour to a wet surface: by the Lewis relation, a film of 3 W/(m2 K) without radiation over
  // 1206 J/(m3 K).
  double wet_surface_m_per_s = 2.5e-3;
  double start_celsius = 20.0;
  double start_rh_fraction = 0.515;
  HeaterParameters heater;
  CoolingParameters cooling;
  HumidifierParameters humidifier;
  DryerParameters dryer;
  PersonParameters person;
  BufferParameters buffer;
  PaneParameters pane;
};

// What people on site set and do.
struct RoomControls {
  bool heater_on = true;
  bool cooling_on = true;  // all of these stand only where their parameters give them an output
  bool humidifier_on = true;
  bool dryer_on = true;
  bool windows_open = false;
  double people = 0.0;
  analysis::base::Celsius thermostat{20.9};
  analysis::base::Celsius cooling_set_point{24.0};
};

[[nodiscard]] inline RoomControls controls_at_start(const RoomParameters& parameters) {
  RoomControls controls;
  controls.thermostat = analysis::base::Celsius{parameters.heater.thermostat_celsius};
  controls.cooling_set_point = analysis::base::Celsius{parameters.cooling.set_point_celsius};
  return controls;
}

}  // namespace firmware::sim::site
