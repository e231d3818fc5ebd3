// Rooms of many shapes for the tests of the plan: rectangles, L, T and U shapes, slanted walls,
// pillars. From a seed, the same on every machine.
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <random>

#include "analysis/plan/layout/row_layout.hpp"
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
  // As people live in: sides 2.4..9 m by 2.4..7 m, no arm narrower than 0.9 m. Of ten rooms three
  // are rectangles, two are L-shaped, one each T-shaped, U-shaped, with a chimney breast, with a
  // slanted wall, with a pillar.
  analysis::plan::Region next_usual() {
    const double w = between(2.4, 9.0);
    const double h = between(2.4, 7.0);
    const double a = std::max(0.9, between(0.3, 0.6) * w);
    const double b = std::max(0.9, between(0.3, 0.6) * h);
    const double third = std::max(0.9, w / 3.0);
    analysis::plan::Region room{{{0, 0}, {w, 0}, {w, h}, {0, h}}, {}};
    switch (pick(10)) {
      case 0:
      case 1:  // L
        room.outer = {{0, 0}, {w, 0}, {w, b}, {a, b}, {a, h}, {0, h}};
        break;
      case 2:  // T
        room.outer = {
            {0, b}, {third / 2, b}, {third / 2, 0}, {w - third / 2, 0}, {w - third / 2, b},
            {w, b}, {w, h},         {0, h}};
        break;
      case 3:  // U
        room.outer = {{0, 0},         {w, 0},     {w, h},     {w - third, h},
                      {w - third, b}, {third, b}, {third, h}, {0, h}};
        if (w - 2.0 * third < 0.3) {
          room.outer = {{0, 0}, {w, 0}, {w, h}, {0, h}};
        }
        break;
      case 4:  // a chimney breast
        room.outer = {
            {0, 0},       {w, 0}, {w, h}, {0.7 * w, h}, {0.7 * w, h - 0.4}, {0.4 * w, h - 0.4},
            {0.4 * w, h}, {0, h}};
        break;
      case 5:  // a slanted wall
        room.outer = {{0, 0}, {w, 0}, {w - 0.3 * a, h}, {0, h}};
        break;
      case 6:  // a pillar
        room.holes = {{{a, b}, {a + 0.4, b}, {a + 0.4, b + 0.3}, {a, b + 0.3}}};
        break;
      default:
        break;
    }
    return room;
  }
  // Common practice, no source.
  analysis::plan::PanelSize usual_panel() {
    using analysis::plan::Metres;
    const std::array<analysis::plan::PanelSize, 5> sizes{{{Metres{1.20}, Metres{0.19}},
                                                          {Metres{1.29}, Metres{0.19}},
                                                          {Metres{1.38}, Metres{0.16}},
                                                          {Metres{1.29}, Metres{0.13}},
                                                          {Metres{1.38}, Metres{0.24}}}};
    return sizes[pick(sizes.size())];
  }
  double between(double low, double high) {
    return low + (high - low) * static_cast<double>(random_()) / 4294967296.0;
  }
  std::uint32_t pick(std::uint32_t count) { return static_cast<std::uint32_t>(random_()) % count; }

 private:
  std::mt19937 random_;
};

}  // namespace plan_tests
