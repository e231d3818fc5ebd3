#include "firmware-sim/sim/site/room_truth.hpp"

#include <algorithm>
#include <cmath>

#include "firmware-sim/sim/physics/moist_air.hpp"

namespace firmware::sim::site {
namespace {

constexpr double kAirJPerM3K = 1206.0;  // 1.2 kg/m3 times 1005 J/(kg K)
constexpr std::size_t kAir = 0;
constexpr std::size_t kWalls = 1;
constexpr std::size_t kSurface = 2;
constexpr std::size_t kBody = 3;

template <std::size_t N>
using Matrix = std::array<std::array<double, N>, N>;

// Gauss without pivoting: the matrix of a heat balance is diagonally dominant.
template <std::size_t N>
std::array<double, N> solved(Matrix<N> a, std::array<double, N> b) {
  for (std::size_t pivot = 0; pivot < N; ++pivot) {
    for (std::size_t row = pivot + 1; row < N; ++row) {
      const double factor = a[row][pivot] / a[pivot][pivot];
      for (std::size_t column = pivot; column < N; ++column) {
        a[row][column] -= factor * a[pivot][column];
      }
      b[row] -= factor * b[pivot];
    }
  }
  for (std::size_t row = N; row-- > 0;) {
    for (std::size_t column = row + 1; column < N; ++column) {
      b[row] -= a[row][column] * b[column];
    }
    b[row] /= a[row][row];
  }
  return b;
}

template <std::size_t N>
void couple(Matrix<N>& a, std::size_t i, std::size_t j, double w_per_k) {
  a[i][i] += w_per_k;
  a[j][j] += w_per_k;
  a[i][j] -= w_per_k;
  a[j][i] -= w_per_k;
}

}  // namespace

using analysis::base::AbsoluteHumidity;
using analysis::base::Celsius;
using analysis::base::RelativeHumidity;

RoomTruth::RoomTruth(const RoomParameters& parameters)
    : parameters_(parameters),
      capacity_j_per_k_{parameters.air_and_contents_j_per_k, parameters.wall_j_per_k,
                        parameters.slab_surface_j_per_m2k * parameters.floor_m2,
                        parameters.slab_body_j_per_m2k * parameters.floor_m2},
      vapour_kg_per_m3_(physics::vapour_density(Celsius{parameters.start_celsius},
                                                RelativeHumidity{parameters.start_rh_fraction})
                            .value()) {
  celsius_.fill(parameters.start_celsius);
}

double RoomTruth::volume_m3() const { return parameters_.floor_m2 * parameters_.height_m; }

double RoomTruth::ventilation_m3_per_s() const {
  return parameters_.air_changes_per_h * volume_m3() / 3600.0;
}

double RoomTruth::heater_w(bool works) const {
  if (!works) {
    return 0.0;
  }
  const double wanted =
      (parameters_.thermostat_celsius - celsius_[kAir]) / parameters_.thermostat_band_k;
  return parameters_.heater_max_w * std::clamp(wanted, 0.0, 1.0);
}

void RoomTruth::advance(double step_s, const RoomForcing& forcing) {
  advance_heat(step_s, forcing);
  advance_vapour(step_s, forcing);
}

void RoomTruth::advance_heat(double step_s, const RoomForcing& forcing) {
  const double outdoors = forcing.outdoor_temperature.value();
  const double air_to_outdoors_w_per_k =
      parameters_.light_envelope_w_per_k + ventilation_m3_per_s() * kAirJPerM3K;
  const double ground_w_per_k = parameters_.slab_to_ground_w_per_m2k * parameters_.floor_m2;
  const double heater = heater_w(forcing.heater_works);

  Matrix<kLumps> a{};
  Lumps b{};
  for (std::size_t i = 0; i < kLumps; ++i) {
    a[i][i] = capacity_j_per_k_[i] / step_s;
    b[i] = a[i][i] * celsius_[i];
  }
  couple(a, kAir, kWalls, parameters_.wall_film_w_per_k);
  couple(a, kAir, kSurface, parameters_.floor_film_w_per_m2k * parameters_.floor_m2);
  couple(a, kSurface, kBody, parameters_.slab_conductance_w_per_m2k * parameters_.floor_m2);
  a[kAir][kAir] += air_to_outdoors_w_per_k;
  b[kAir] += air_to_outdoors_w_per_k * outdoors + heater + forcing.gain_w - forcing.to_stack_w;
  a[kWalls][kWalls] += parameters_.wall_to_outdoors_w_per_k;
  b[kWalls] += parameters_.wall_to_outdoors_w_per_k * outdoors;
  a[kBody][kBody] += ground_w_per_k;
  b[kBody] += ground_w_per_k * parameters_.ground_celsius;
  celsius_ = solved<kLumps>(a, b);

  ledger_.heater_j += heater * step_s;
  ledger_.gain_j += forcing.gain_w * step_s;
  ledger_.stack_j -= forcing.to_stack_w * step_s;
  ledger_.outdoors_j +=
      step_s * (air_to_outdoors_w_per_k * (outdoors - celsius_[kAir]) +
                parameters_.wall_to_outdoors_w_per_k * (outdoors - celsius_[kWalls]));
  ledger_.ground_j += step_s * ground_w_per_k * (parameters_.ground_celsius - celsius_[kBody]);
}

// Walls and contents take up no vapour here: the air's RH answers quicker than in a furnished room.
void RoomTruth::advance_vapour(double step_s, const RoomForcing& forcing) {
  const double rh = air_rh().value();
  const double band = parameters_.control_band_rh_fraction;
  const double humidifier_kg_per_s =
      parameters_.humidifier_max_kg_per_h / 3600.0 *
      std::clamp((parameters_.humidifier_rh_fraction - rh) / band, 0.0, 1.0);
  const double dryer_kg_per_s = -parameters_.dryer_max_kg_per_h / 3600.0 *
                                std::clamp((rh - parameters_.dryer_rh_fraction) / band, 0.0, 1.0);
  const double outdoors =
      physics::vapour_density(forcing.outdoor_temperature, forcing.outdoor_rh).value();
  const double exchange = ventilation_m3_per_s();
  const double sources =
      humidifier_kg_per_s + dryer_kg_per_s + forcing.gain_kg_per_s + forcing.slab_vapour_kg_per_s;
  vapour_kg_per_m3_ = (volume_m3() / step_s * vapour_kg_per_m3_ + exchange * outdoors + sources) /
                      (volume_m3() / step_s + exchange);

  ledger_.humidifier_kg += humidifier_kg_per_s * step_s;
  ledger_.dryer_kg += dryer_kg_per_s * step_s;
  ledger_.gain_kg += forcing.gain_kg_per_s * step_s;
  ledger_.slab_vapour_kg += forcing.slab_vapour_kg_per_s * step_s;
  ledger_.outdoors_vapour_kg += exchange * (outdoors - vapour_kg_per_m3_) * step_s;

  const double most = physics::vapour_density(air_temperature(), RelativeHumidity{1.0}).value();
  if (vapour_kg_per_m3_ > most) {
    ledger_.condensed_kg -= (vapour_kg_per_m3_ - most) * volume_m3();
    vapour_kg_per_m3_ = most;
  }
}

Celsius RoomTruth::air_temperature() const { return Celsius{celsius_[kAir]}; }
Celsius RoomTruth::slab_surface_temperature() const { return Celsius{celsius_[kSurface]}; }
Celsius RoomTruth::slab_temperature() const { return Celsius{celsius_[kBody]}; }
AbsoluteHumidity RoomTruth::air_vapour() const { return AbsoluteHumidity{vapour_kg_per_m3_}; }
RelativeHumidity RoomTruth::air_rh() const {
  return physics::rh_of(air_vapour(), air_temperature());
}

double RoomTruth::stored_heat_j() const {
  double sum = 0.0;
  for (std::size_t i = 0; i < kLumps; ++i) {
    sum += capacity_j_per_k_[i] * celsius_[i];
  }
  return sum;
}

double RoomTruth::stored_vapour_kg() const { return vapour_kg_per_m3_ * volume_m3(); }

}  // namespace firmware::sim::site
