// Seeded random numbers that are the same on every standard library: the engine is fixed by the
// standard, the distributions are written here. One thread.
#pragma once

#include <cstdint>
#include <random>

namespace firmware::sim::physics {

class Noise {
 public:
  explicit Noise(std::uint64_t seed) : engine_(seed) {}
  // Normal with mean 0 and standard deviation 1.
  [[nodiscard]] double gaussian();

 private:
  [[nodiscard]] double uniform();  // in (0, 1)

  std::mt19937_64 engine_;
};

// A value that wanders about 0 and forgets itself: exact steps of an Ornstein-Uhlenbeck process.
class WanderingNoise {
 public:
  // Stationary standard deviation in the caller's unit, memory in seconds.
  WanderingNoise(double standard_deviation, double memory_s)
      : standard_deviation_(standard_deviation), memory_s_(memory_s) {}
  double advance(double step_s, Noise& noise);
  [[nodiscard]] double value() const { return value_; }

 private:
  double standard_deviation_;
  double memory_s_;
  double value_ = 0.0;
};

}  // namespace firmware::sim::physics
