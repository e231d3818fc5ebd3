// Rooms of many shapes for the tests of the plan: rectangles, L, T and U shapes, slanted walls,
// pillars. From a seed, the same on every machine.
#pragma once

#include <cstdint>
#include <random>

#include "analysis/plan/room/outline.hpp"

namespace plan_tests {

class RandomRooms {
 public:
  explicit RandomRooms(std::uint32_t seed) : random_(seed) {}

  analysis::plan::Region next() {
    const double w = between(1.5, 12.0);
    const double h = between(1.5, 9.0);
    const double a = between(0.25, 0.6) * w;
    const double b = between(0.25, 0.6) * h;
    analysis::plan::Region room;
    switch (pick(6)) {
      case 0:
        room.outer = {{0, 0}, {w, 0}, {w, h}, {0, h}};
        break;
      case 1:  // L
        room.outer = {{0, 0}, {w, 0}, {w, b}, {a, b}, {a, h}, {0, h}};
        break;
      case 2:  // U
        room.outer = {{0, 0},       {w, 0},       {w, h}, {w - 0.35 * w, h}, {w - 0.35 * w, b},
                      {0.3 * w, b}, {0.3 * w, h}, {0, h}};
        break;
      case 3:  // a slanted wall
        room.outer = {{0, 0}, {w, 0}, {w - 0.4 * a, h}, {0, h}};
        break;
      case 4:  // a chimney breast
        room.outer = {{0, 0},
                      {w, 0},
                      {w, h},
                      {0.7 * w, h},
                      {0.7 * w, h - 0.3 * b},
                      {0.4 * w, h - 0.3 * b},
                      {0.4 * w, h},
                      {0, h}};
        break;
      default:  // a pillar
        room.outer = {{0, 0}, {w, 0}, {w, h}, {0, h}};
        room.holes = {
            {{0.45 * w, 0.4 * h}, {0.55 * w, 0.4 * h}, {0.55 * w, 0.55 * h}, {0.45 * w, 0.55 * h}}};
        break;
    }
    return room;
  }
  double between(double low, double high) {
    return low + (high - low) * static_cast<double>(random_()) / 4294967296.0;
  }
  std::uint32_t pick(std::uint32_t count) { return static_cast<std::uint32_t>(random_()) % count; }

 private:
  std::mt19937 random_;
};

}  // namespace plan_tests
