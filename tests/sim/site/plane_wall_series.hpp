// Plane wall or sheet with a film on both faces, cooling or drying from one value towards that of
// its surroundings. For tests.
#pragma once

#include <cmath>
#include <numbers>

// n-th root of b tan b = Bi, n = 0, 1, ... Source: Carslaw and Jaeger, Conduction of Heat in
// Solids, 2nd ed. 1959, appendix IV, table I.
inline double plane_wall_root(int n, double biot) {
  double low = n * std::numbers::pi;
  double high = low + std::numbers::pi / 2.0;
  for (int i = 0; i < 200; ++i) {
    const double b = 0.5 * (low + high);
    (b * std::tan(b) < biot ? low : high) = b;
  }
  return 0.5 * (low + high);
}

// What is left of the first difference at `place` (0 = middle, 1 = face). `biot` = film * half
// thickness / conductivity, `fourier` = diffusivity * time / half thickness squared. Source:
// Carslaw and Jaeger, section 3.11; Crank, The Mathematics of Diffusion, 2nd ed. 1975,
// section 4.3.6 (both from memory).
inline double plane_wall_share(double place, double biot, double fourier) {
  double sum = 0.0;
  for (int n = 0; n < 60; ++n) {
    const double b = plane_wall_root(n, biot);
    sum += 4.0 * std::sin(b) / (2.0 * b + std::sin(2.0 * b)) * std::cos(b * place) *
           std::exp(-b * b * fourier);
  }
  return sum;
}
