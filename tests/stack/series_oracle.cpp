#include "tests/stack/series_oracle.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace stack_oracle {
namespace {

constexpr std::size_t kModesLength = 60;
constexpr std::size_t kModesOther = 30;

// The n-th root lies in (n pi, n pi + pi/2), where beta tan beta rises from 0 to infinity.
double root_number(std::size_t n, double biot) {
  double low = static_cast<double>(n) * std::numbers::pi;
  double high = low + 0.5 * std::numbers::pi;
  for (int i = 0; i < 100; ++i) {
    const double beta = 0.5 * (low + high);
    const double shifted = beta - static_cast<double>(n) * std::numbers::pi;
    (beta * std::tan(shifted) > biot ? high : low) = beta;
  }
  return 0.5 * (low + high);
}

struct Walls {
  std::vector<WallMode> x, y, z;
};

Walls walls_of(const Brick& b) {
  return {
      wall_modes(b.half_length, b.conductivity_in_plane, b.film, b.volumetric_heat, kModesLength),
      wall_modes(b.half_width, b.conductivity_in_plane, b.film, b.volumetric_heat, kModesOther),
      wall_modes(b.half_height, b.conductivity_across, b.film, b.volumetric_heat, kModesOther)};
}

double wall_share(const std::vector<WallMode>& modes, double seconds, double WallMode::*weight) {
  double sum = 0.0;
  for (const WallMode& mode : modes) {
    sum += mode.*weight * std::exp(-mode.rate_per_second * seconds);
  }
  return sum;
}

double brick_share(const Brick& brick, double seconds, double WallMode::*weight) {
  const Walls walls = walls_of(brick);
  return wall_share(walls.x, seconds, weight) * wall_share(walls.y, seconds, weight) *
         wall_share(walls.z, seconds, weight);
}

}  // namespace

std::vector<WallMode> wall_modes(double half_depth, double conductivity, double film,
                                 double volumetric_heat, std::size_t count) {
  std::vector<WallMode> modes;
  const double biot = film * half_depth / conductivity;
  const double diffusivity = conductivity / volumetric_heat;
  for (std::size_t n = 0; n < count; ++n) {
    const double beta = root_number(n, biot);
    const double centre = 2.0 * std::sin(beta) / (beta + std::sin(beta) * std::cos(beta));
    modes.push_back({beta, centre, centre * std::sin(beta) / beta,
                     diffusivity * beta * beta / (half_depth * half_depth)});
  }
  return modes;
}

double centre_share(const Brick& brick, double seconds) {
  return brick_share(brick, seconds, &WallMode::centre);
}

double mean_share(const Brick& brick, double seconds) {
  return brick_share(brick, seconds, &WallMode::mean);
}

double seconds_until_share(const Brick& brick, double share) {
  const Walls walls = walls_of(brick);
  double low = 0.0;
  double high = 3.6e3 * 24.0 * 365.0;
  while (high - low > 1.0) {
    const double t = 0.5 * (low + high);
    const double found = wall_share(walls.x, t, &WallMode::centre) *
                         wall_share(walls.y, t, &WallMode::centre) *
                         wall_share(walls.z, t, &WallMode::centre);
    (found > share ? low : high) = t;
  }
  return low;
}

VaryingRoom::VaryingRoom(const Brick& brick, double start_celsius) : air_(start_celsius) {
  const Walls walls = walls_of(brick);
  for (const WallMode& x : walls.x) {
    for (const WallMode& y : walls.y) {
      for (const WallMode& z : walls.z) {
        rates_.push_back(x.rate_per_second + y.rate_per_second + z.rate_per_second);
        weights_.push_back(x.centre * y.centre * z.centre);
      }
    }
  }
  amplitudes_.resize(rates_.size());
  decays_.resize(rates_.size());
}

// With u = T - Ta, an amplitude b obeys b' = -rate b - Ta' c, c its weight in a uniform field.
void VaryingRoom::advance(double seconds, double air_from, double air_to) {
  if (seconds != decay_seconds_) {
    decay_seconds_ = seconds;
    std::transform(rates_.begin(), rates_.end(), decays_.begin(),
                   [&](double rate) { return std::exp(-std::min(rate * seconds, 700.0)); });
  }
  const double slope = (air_to - air_from) / seconds;
  const double jump = air_from - air_;
  for (std::size_t i = 0; i < rates_.size(); ++i) {
    const double steady = -slope * weights_[i] / rates_[i];
    const double excess = amplitudes_[i] - jump * weights_[i] - steady;
    amplitudes_[i] = steady + decays_[i] * excess;
  }
  air_ = air_to;
}

double VaryingRoom::centre_celsius() const {
  return std::accumulate(amplitudes_.begin(), amplitudes_.end(), air_);
}

}  // namespace stack_oracle
