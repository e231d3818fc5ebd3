#include "firmware-sim/sim/site/room/room_truth.hpp"

#include <algorithm>
#include <array>
#include <limits>

#include "firmware-sim/sim/physics/lump_step.hpp"
#include "firmware-sim/sim/physics/moist_air.hpp"
#include "firmware-sim/sim/physics/vapour_step.hpp"

namespace firmware::sim::site {
namespace {

constexpr double kAirJPerM3K = 1206.0;          // 1.2 kg/m3 times 1005 J/(kg K)
constexpr double kVaporisationJPerKg = 2.45e6;  // at 20 deg C (from memory)
constexpr double kBoundless = std::numeric_limits<double>::infinity();
constexpr std::size_t kAir = 0;
constexpr std::size_t kWalls = 1;
constexpr std::size_t kSurface = 2;
constexpr std::size_t kBody = 3;
constexpr std::size_t kPane = 4;

double saturated_kg_per_m3(double celsius) {
  return physics::vapour_density(analysis::base::Celsius{celsius},
                                 analysis::base::RelativeHumidity{1.0})
      .value();
}

}  // namespace

using analysis::base::AbsoluteHumidity;
using analysis::base::Celsius;
using analysis::base::Kilograms;
using analysis::base::RelativeHumidity;

RoomTruth::RoomTruth(const RoomParameters& parameters)
    : parameters_(parameters),
      capacity_j_per_k_{parameters.air_and_contents_j_per_k, parameters.wall_j_per_k,
                        parameters.slab_surface_j_per_m2k * parameters.floor_m2,
                        parameters.slab_body_j_per_m2k * parameters.floor_m2,
                        parameters.pane.j_per_m2k * parameters.pane.area_m2},
      vapour_kg_per_m3_(physics::vapour_density(Celsius{parameters.start_celsius},
                                                RelativeHumidity{parameters.start_rh_fraction})
                            .value()),
      buffer_rh_(parameters.start_rh_fraction) {
  celsius_.fill(parameters.start_celsius);
}

double RoomTruth::volume_m3() const { return parameters_.floor_m2 * parameters_.height_m; }

double RoomTruth::buffer_kg() const {
  return parameters_.buffer.area_m2 * parameters_.buffer.kg_per_m2;
}

double RoomTruth::ventilation_m3_per_s(const RoomControls& controls) const {
  const double changes_per_h =
      controls.windows_open ? parameters_.open_windows_per_h : parameters_.air_changes_per_h;
  return changes_per_h * volume_m3() / 3600.0;
}

RoomTruth::Equipment RoomTruth::running(double step_s, const RoomControls& controls) const {
  const double celsius = celsius_[kAir];
  const double rh = air_rh().value();
  const auto share = [](bool on, double amiss, double band) {
    return on ? std::clamp(amiss / band, 0.0, 1.0) : 0.0;
  };
  const HeaterParameters& heater = parameters_.heater;
  const CoolingParameters& cooling = parameters_.cooling;
  const HumidifierParameters& humidifier = parameters_.humidifier;
  const DryerParameters& dryer = parameters_.dryer;
  Equipment equipment;
  equipment.heater_w = heater.max_w * share(controls.heater_on,
                                            controls.thermostat.value() - celsius, heater.band_k);
  equipment.coil_m3_per_s =
      cooling.flow_m3_per_s * cooling.contact_fraction *
      share(controls.cooling_on, celsius - controls.cooling_set_point.value(), cooling.band_k);
  equipment.humidifier_kg_per_s =
      humidifier.max_kg_per_h / 3600.0 *
      share(controls.humidifier_on, humidifier.rh_fraction - rh, humidifier.band_rh_fraction);
  // A dryer does not take the air below what it is set to.
  const double excess_kg =
      (vapour_kg_per_m3_ - dryer.rh_fraction * saturated_kg_per_m3(celsius)) * volume_m3();
  equipment.dryer_kg_per_s =
      std::min(dryer.max_kg_per_h / 3600.0 *
                   share(controls.dryer_on, rh - dryer.rh_fraction, dryer.band_rh_fraction),
               std::max(0.0, excess_kg) / step_s);
  return equipment;
}

void RoomTruth::advance(double step_s, const RoomForcing& forcing) {
  const Equipment equipment = running(step_s, forcing.controls);
  const Lumps latent_w = advance_water(step_s, forcing, equipment);
  advance_heat(step_s, forcing, equipment, latent_w);
  settle_fog();
}

physics::VapourExchange RoomTruth::film_exchange(double area_m2, std::size_t lump,
                                                 double film_kg) const {
  return {parameters_.wet_surface_m_per_s * area_m2, saturated_kg_per_m3(celsius_[lump]), film_kg};
}

// The store follows within the step, so its flow is that of its start, weakened by what it takes:
// with a = step * flow / water for RH 1, rh' = (rh + a x') / (1 + a saturated).
physics::VapourExchange RoomTruth::store_exchange(double step_s) const {
  const double flow_m3_per_s = parameters_.buffer.exchange_m_per_s * parameters_.buffer.area_m2;
  const double saturated = saturated_kg_per_m3(celsius_[kWalls]);
  const double follows = buffer_kg() > 0.0 ? step_s * flow_m3_per_s * saturated / buffer_kg() : 0.0;
  return {flow_m3_per_s / (1.0 + follows), buffer_rh_ * saturated, kBoundless};
}

double RoomTruth::add_sources(double step_s, const RoomForcing& forcing,
                              const Equipment& equipment) {
  const double heater_kg_per_s = equipment.heater_w / 3.6e6 * parameters_.heater.water_kg_per_kwh;
  const double people_kg_per_s =
      forcing.controls.people * parameters_.person.vapour_kg_per_h / 3600.0;
  water_.heater_kg += heater_kg_per_s * step_s;
  water_.people_kg += people_kg_per_s * step_s;
  water_.gain_kg += forcing.gain_kg_per_s * step_s;
  water_.humidifier_kg += equipment.humidifier_kg_per_s * step_s;
  water_.dryer_kg -= equipment.dryer_kg_per_s * step_s;
  water_.slab_kg += forcing.slab_vapour_kg_per_s * step_s;
  water_.wet_trade_kg += forcing.wet_trade_kg_per_s * step_s;
  return heater_kg_per_s + people_kg_per_s + forcing.gain_kg_per_s + forcing.slab_vapour_kg_per_s +
         forcing.wet_trade_kg_per_s + equipment.humidifier_kg_per_s - equipment.dryer_kg_per_s;
}

RoomTruth::Lumps RoomTruth::advance_water(double step_s, const RoomForcing& forcing,
                                          const Equipment& equipment) {
  const double outdoors =
      physics::vapour_density(forcing.outdoor_temperature, forcing.outdoor_rh).value();
  const double coil = saturated_kg_per_m3(parameters_.cooling.coil_celsius);
  const std::array<physics::VapourExchange, 5> exchanges{
      {{ventilation_m3_per_s(forcing.controls), outdoors, kBoundless},
       {equipment.coil_m3_per_s, coil, 0.0},  // a coil dries, it never wets
       store_exchange(step_s),
       film_exchange(parameters_.pane.area_m2, kPane, pane_film_kg_),
       film_exchange(parameters_.floor_m2, kSurface, floor_film_kg_)}};
  const auto result = physics::vapour_step(vapour_kg_per_m3_, volume_m3(), step_s,
                                           add_sources(step_s, forcing, equipment), exchanges);
  const auto [to_outdoors_kg, to_coil_kg, to_store_kg, to_pane_kg, to_floor_kg] = result.taken_kg;
  vapour_kg_per_m3_ = result.kg_per_m3;
  buffer_rh_ += buffer_kg() > 0.0 ? to_store_kg / buffer_kg() : 0.0;
  pane_film_kg_ += to_pane_kg;
  floor_film_kg_ += to_floor_kg;
  let_pane_run_off();

  water_.cooling_kg -= to_coil_kg;
  water_.outdoors_kg -= to_outdoors_kg;

  Lumps latent_w{};
  latent_w[kAir] = kVaporisationJPerKg * (equipment.dryer_kg_per_s - equipment.humidifier_kg_per_s -
                                          forcing.wet_trade_kg_per_s);
  latent_w[kWalls] = kVaporisationJPerKg * to_store_kg / step_s;
  latent_w[kSurface] = kVaporisationJPerKg * (to_floor_kg / step_s - forcing.slab_vapour_kg_per_s);
  latent_w[kPane] = kVaporisationJPerKg * to_pane_kg / step_s;
  return latent_w;
}

void RoomTruth::let_pane_run_off() {
  const double most_kg = parameters_.pane.most_film_kg_per_m2 * parameters_.pane.area_m2;
  const double off_kg = std::max(0.0, pane_film_kg_ - most_kg);
  pane_film_kg_ -= off_kg;
  water_.run_off_kg -= off_kg;
}

void RoomTruth::advance_heat(double step_s, const RoomForcing& forcing, const Equipment& equipment,
                             const Lumps& latent_w) {
  const double outdoors = forcing.outdoor_temperature.value();
  const double air_w_per_k =
      parameters_.light_envelope_w_per_k + ventilation_m3_per_s(forcing.controls) * kAirJPerM3K;
  const double ground_w_per_k = parameters_.slab_to_ground_w_per_m2k * parameters_.floor_m2;
  const PaneParameters& pane = parameters_.pane;
  const double pane_out_w_per_k =
      pane.area_m2 / (1.0 / pane.u_w_per_m2k - 1.0 / pane.inner_film_w_per_m2k);
  const double coil_w_per_k = equipment.coil_m3_per_s * kAirJPerM3K;
  const double people_w = forcing.controls.people * parameters_.person.sensible_w;
  const double dryer_w = equipment.dryer_kg_per_s * parameters_.dryer.electric_j_per_kg;

  physics::LumpStep<kLumps> step(celsius_, capacity_j_per_k_, step_s);
  step.couple(kAir, kWalls, parameters_.wall_film_w_per_k);
  step.couple(kAir, kSurface, parameters_.floor_film_w_per_m2k * parameters_.floor_m2);
  step.couple(kSurface, kBody, parameters_.slab_conductance_w_per_m2k * parameters_.floor_m2);
  step.couple(kAir, kPane, pane.inner_film_w_per_m2k * pane.area_m2);
  step.couple_to(kAir, outdoors, air_w_per_k);
  step.couple_to(kAir, parameters_.cooling.coil_celsius, coil_w_per_k);
  step.couple_to(kWalls, outdoors, parameters_.wall_to_outdoors_w_per_k);
  step.couple_to(kBody, parameters_.ground_celsius, ground_w_per_k);
  step.couple_to(kPane, outdoors, pane_out_w_per_k);
  step.add(kAir, equipment.heater_w + people_w + dryer_w + forcing.gain_w - forcing.to_stack_w);
  for (std::size_t i = 0; i < kLumps; ++i) {
    step.add(i, latent_w[i]);
    heat_.latent_j += latent_w[i] * step_s;
  }
  celsius_ = step.solved();

  heat_.heater_j += equipment.heater_w * step_s;
  heat_.cooling_j += coil_w_per_k * (parameters_.cooling.coil_celsius - celsius_[kAir]) * step_s;
  heat_.people_j += people_w * step_s;
  heat_.gain_j += forcing.gain_w * step_s;
  heat_.dryer_j += dryer_w * step_s;
  heat_.stack_j -= forcing.to_stack_w * step_s;
  heat_.outdoors_j +=
      step_s * (air_w_per_k * (outdoors - celsius_[kAir]) +
                parameters_.wall_to_outdoors_w_per_k * (outdoors - celsius_[kWalls]) +
                pane_out_w_per_k * (outdoors - celsius_[kPane]));
  heat_.ground_j += step_s * ground_w_per_k * (parameters_.ground_celsius - celsius_[kBody]);
}

void RoomTruth::settle_fog() {
  const double fog_kg =
      std::max(0.0, vapour_kg_per_m3_ - saturated_kg_per_m3(celsius_[kAir])) * volume_m3();
  vapour_kg_per_m3_ -= fog_kg / volume_m3();
  floor_film_kg_ += fog_kg;
  celsius_[kSurface] += kVaporisationJPerKg * fog_kg / capacity_j_per_k_[kSurface];
  heat_.latent_j += kVaporisationJPerKg * fog_kg;
}

Celsius RoomTruth::air_temperature() const { return Celsius{celsius_[kAir]}; }
Celsius RoomTruth::wall_temperature() const { return Celsius{celsius_[kWalls]}; }
Celsius RoomTruth::slab_surface_temperature() const { return Celsius{celsius_[kSurface]}; }
Celsius RoomTruth::slab_temperature() const { return Celsius{celsius_[kBody]}; }
Celsius RoomTruth::pane_temperature() const { return Celsius{celsius_[kPane]}; }
AbsoluteHumidity RoomTruth::air_vapour() const { return AbsoluteHumidity{vapour_kg_per_m3_}; }
RelativeHumidity RoomTruth::air_rh() const {
  return physics::rh_of(air_vapour(), air_temperature());
}
RelativeHumidity RoomTruth::rh_at_slab_surface() const {
  return std::min(RelativeHumidity{1.0}, physics::rh_of(air_vapour(), slab_surface_temperature()));
}
RelativeHumidity RoomTruth::buffer_rh() const { return RelativeHumidity{buffer_rh_}; }
Kilograms RoomTruth::pane_film() const { return Kilograms{pane_film_kg_}; }
Kilograms RoomTruth::floor_film() const { return Kilograms{floor_film_kg_}; }

double RoomTruth::stored_heat_j() const {
  double sum = 0.0;
  for (std::size_t i = 0; i < kLumps; ++i) {
    sum += capacity_j_per_k_[i] * celsius_[i];
  }
  return sum;
}

double RoomTruth::stored_water_kg() const {
  return vapour_kg_per_m3_ * volume_m3() + buffer_rh_ * buffer_kg() + pane_film_kg_ +
         floor_film_kg_;
}

}  // namespace firmware::sim::site
