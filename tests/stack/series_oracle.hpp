// An independent answer for the temperature inside a stack: the exact series of the brick with
// film, as a sum over modes. Shares no code with the finite-volume field.
#pragma once

#include <cstddef>
#include <vector>

namespace stack_oracle {

// Half lengths in m (the full height for an insulated bottom), W/mK, W/m2K and J/m3K.
struct Brick {
  double half_length, half_width, half_height;
  double conductivity_in_plane, conductivity_across, film, volumetric_heat;
};

struct WallMode {
  double root;             // beta tan beta = biot
  double centre;           // c: weight of the mode at the centre for a uniform start
  double mean;             // the same averaged over the wall
  double rate_per_second;  // a beta^2 / L^2
};

// Plane wall with film on both faces. Source: Incropera et al., ch. 5 (from memory):
// beta tan beta = Bi = h L / k, c = 2 sin beta / (beta + sin beta cos beta).
std::vector<WallMode> wall_modes(double half_depth, double conductivity, double film,
                                 double volumetric_heat, std::size_t count);

// Excess over a constant room as a share of the excess at the start: the product of three walls.
double centre_share(const Brick& brick, double seconds);
double mean_share(const Brick& brick, double seconds);

// Seconds until the share has fallen to `share`, by bisection.
double seconds_until_share(const Brick& brick, double share);

// The centre in a room whose temperature changes: each mode of (60, 30, 30) is carried on exactly
// over a linear stretch of air (Duhamel's integral in recursive form).
class VaryingRoom {
 public:
  VaryingRoom(const Brick& brick, double start_celsius);
  void advance(double seconds, double air_from, double air_to);
  [[nodiscard]] double centre_celsius() const;

 private:
  std::vector<double> rates_, weights_, amplitudes_;
  std::vector<double> decays_;  // of one stretch of decay_seconds_
  double decay_seconds_ = 0.0;
  double air_;
};

}  // namespace stack_oracle
