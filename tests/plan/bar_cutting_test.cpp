// The least bars, by hand and against trying every way to share the lengths out.
#include "analysis/plan/takeoff/bar_cutting.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <functional>
#include <random>

using namespace analysis::plan;
using analysis::base::Metres;

namespace {

std::vector<Metres> metres(const std::vector<double>& lengths) {
  std::vector<Metres> all;
  for (const double length : lengths) {
    all.emplace_back(length);
  }
  return all;
}

// Every length into every bar that is open, or a new one.
std::size_t fewest_by_trying(const std::vector<double>& lengths, double bar) {
  std::size_t fewest = lengths.size();
  std::vector<double> used;
  const std::function<void(std::size_t)> share_out = [&](std::size_t next) {
    if (next == lengths.size()) {
      fewest = std::min(fewest, used.size());
      return;
    }
    for (std::size_t i = 0; i < used.size(); ++i) {
      if (used[i] + lengths[next] <= bar + 1e-9) {
        used[i] += lengths[next];
        share_out(next + 1);
        used[i] -= lengths[next];
      }
    }
    used.push_back(lengths[next]);
    share_out(next + 1);
    used.pop_back();
  };
  share_out(0);
  return fewest;
}

}  // namespace

TEST_CASE("Lengths are cut from the least bars") {
  // 0.9 + 0.8 = 1.7 and 0.9 + 0.9 = 1.8: two bars of 2.4 m.
  CHECK(least_bars_from(metres({0.9, 0.8, 0.9, 0.9}), Metres{2.4}, Metres{0.0}) == 2);
  // First fit of the longest takes 5+5, 4+4, 3+3+3, 3: four. 5+5, 4+3+3, 4+3+3 are three.
  CHECK(least_bars_from(metres({5, 5, 4, 4, 3, 3, 3, 3}), Metres{10}, Metres{0.0}) == 3);
  // 5.7 m: two whole bars of 2.4 m and 0.9 m, beside which 1.5 m just fits.
  CHECK(least_bars_from(metres({5.7, 1.5}), Metres{2.4}, Metres{0.0}) == 3);
  // A saw that takes 3 mm between them leaves no room for it.
  CHECK(least_bars_from(metres({5.7, 1.5}), Metres{2.4}, Metres{0.003}) == 4);
  // A length of a whole bar needs no cut.
  CHECK(least_bars_from(metres({2.4}), Metres{2.4}, Metres{0.003}) == 1);
  CHECK(least_bars_from({}, Metres{2.4}, Metres{0.0}) == 0);
}

TEST_CASE("No way of sharing lengths out needs fewer bars") {
  constexpr unsigned kSeed = 20260511;
  INFO("seed " << kSeed);
  std::mt19937 random(kSeed);
  for (int set = 0; set < 300; ++set) {
    std::vector<double> lengths(1 + random() % 7);
    for (double& length : lengths) {
      length = 0.1 * static_cast<double>(1 + random() % 24);
    }
    INFO("set " << set);
    CHECK(static_cast<std::size_t>(least_bars_from(metres(lengths), Metres{2.4}, Metres{0.0})) ==
          fewest_by_trying(lengths, 2.4));
  }
}
