// Flatness out of grids and lines: worked values, an independent brute force, what is refused.
#include "analysis/readiness/site/flatness.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "analysis/plan/flatness/flatness_texts.hpp"
#include "analysis/readiness/site/floor_filling.hpp"

namespace {

using namespace analysis::readiness;
using namespace analysis::plan;

HeightGrid grid_of(std::size_t columns, std::size_t rows, double along_m, double between_m) {
  return {columns, std::vector<std::optional<double>>(columns * rows, 0.0), along_m, between_m};
}

FlatnessResult found(const HeightGrid& grid, const FlatnessLimit& limit = {}) {
  const auto result = flatness_from({grid, {}, 0.5}, limit);
  REQUIRE(result.has_value());
  return result.value();
}

// Without hulls: every pair of measured points in every direction that lies no farther apart than
// the straightedge and has no hole and nothing above the chord between.
double brute_worst(const HeightGrid& grid, double length_m) {
  double worst = 0.0;
  const int columns = static_cast<int>(grid.columns);
  const int rows = static_cast<int>(grid.rows());
  const auto at = [&](int c, int r) {
    return grid.heights_mm[static_cast<std::size_t>(r * columns + c)];
  };
  for (int c0 = 0; c0 < columns; ++c0) {
    for (int r0 = 0; r0 < rows; ++r0) {
      for (const auto& [dc, dr] : {std::pair{1, 0}, {0, 1}, {1, 1}, {-1, 1}}) {
        const double step = std::hypot(dc * grid.along_m, dr * grid.between_m);
        if (step > length_m / 2.0 + 1e-9) {
          continue;
        }
        for (int n = 2; n * step <= length_m + 1e-9; ++n) {
          const int c1 = c0 + n * dc;
          const int r1 = r0 + n * dr;
          if (c1 < 0 || c1 >= columns || r1 >= rows || !at(c0, r0) || !at(c1, r1)) {
            break;  // a hole here ends every longer placement too
          }
          double deepest = 0.0;
          bool rests = true;
          for (int k = 1; k < n; ++k) {
            const auto z = at(c0 + k * dc, r0 + k * dr);
            const double chord = *at(c0, r0) + (*at(c1, r1) - *at(c0, r0)) * k / n;
            rests = rests && z && *z <= chord + 1e-12;
            deepest = std::max(deepest, rests ? chord - *z : 0.0);
          }
          worst = rests ? std::max(worst, deepest) : worst;
        }
      }
    }
  }
  return worst;
}

HeightGrid filled_to_limit(HeightGrid grid) {
  const auto fill = least_fill_mm(grid, lines_of(grid, analysis::base::Metres{1.0}), {});
  for (std::size_t i = 0; i < fill.size(); ++i) {
    grid.heights_mm[i] =
        grid.heights_mm[i] ? std::optional(*grid.heights_mm[i] + fill[i]) : std::nullopt;
  }
  return grid;
}

}  // namespace

TEST_CASE("ADipIsAsDeepAsTheStraightedgeSaysAndTakesItsFiller") {
  // 5 x 5 heights, 25 cm apart, one 6 mm low. Straightedge over it: 6 mm. Filler to 3 mm: 3 mm over
  // 0.25 m x 0.25 m = 0.1875 l; to the plane of the others: 6 mm, 0.375 l.
  HeightGrid grid = grid_of(5, 5, 0.25, 0.25);
  grid.heights_mm[12] = -6.0;
  const FlatnessResult result = found(grid);
  CHECK_FALSE(result.met);
  CHECK(result.worst_mm == Approx(6.0));
  CHECK(result.worst_at.row == 2);
  CHECK(result.worst_at.column == 2);
  CHECK(result.worst_at.x_m == Approx(0.5));
  REQUIRE(result.low.size() == 1);
  CHECK(result.high.empty());
  CHECK(result.filler->within_limit_l == Approx(0.1875).margin(1e-4));
  CHECK(result.filler->to_high_plane_l == Approx(0.375).margin(1e-4));
  CHECK(result.gaps_mm[12] == Approx(6.0));
  CHECK(result.gaps_mm[11] == 0.0);
}

TEST_CASE("ABumpIsGroundNotFilledRoundAbout") {
  // 9 x 9 heights, 25 cm apart, one 6 mm high. The straightedge rests on it and on a height 1 m
  // away: 25 cm from the bump the gap is 6 * 0.75 = 4.5 mm, 50 cm from it 3 mm.
  HeightGrid grid = grid_of(9, 9, 0.25, 0.25);
  grid.heights_mm[40] = 6.0;
  const FlatnessResult result = found(grid);
  CHECK(result.worst_mm == Approx(4.5));
  REQUIRE(result.high.size() == 1);
  CHECK(result.high[0].place.row == 4);
  CHECK(result.high[0].place.column == 4);
  CHECK(result.high[0].mm == Approx(6.0));
  CHECK(result.low.empty());
  CHECK(result.filler->within_limit_l > 0.1);
  CHECK(result.filler->within_limit_after_grinding_l == Approx(0.0).margin(1e-9));
  // Up to the plane at 6 mm: 6 mm over 80 heights of 0.0625 m2 = 30 l; a tilted one that rests on
  // the bump alone has the same mean.
  CHECK(result.filler->to_high_plane_l == Approx(30.0).epsilon(1e-6));
}

TEST_CASE("FillingStopsAtTheLeastThatIsWithinTheLimit") {
  // A trough two heights wide, 8 mm deep, in one row: a straightedge of 1 m rests on both its
  // edges. Each place is raised to 3 mm below it: 5 mm each, 2 x 5 x 0.0625 = 0.625 l.
  HeightGrid grid = grid_of(6, 1, 0.25, 0.25);
  grid.heights_mm = {0.0, 0.0, -8.0, -8.0, 0.0, 0.0};
  CHECK(found(grid).filler->within_limit_l == Approx(0.625).margin(1e-4));
  // Wider than the straightedge, it is filled from the sides: every place of a trough that the
  // straightedge can't span rests on what was filled beside it.
  grid = grid_of(12, 1, 0.25, 0.25);
  for (std::size_t i = 3; i < 9; ++i) {
    grid.heights_mm[i] = -40.0;
  }
  const HeightGrid filled = filled_to_limit(grid);
  CHECK(brute_worst(grid, 1.0) > 20.0);
  CHECK(brute_worst(filled, 1.0) == Approx(3.0).margin(0.001));
}

TEST_CASE("ASlopingFlatFloorPasses") {
  HeightGrid grid = grid_of(8, 6, 0.25, 0.3);
  for (std::size_t i = 0; i < grid.heights_mm.size(); ++i) {
    grid.heights_mm[i] = 12.0 * static_cast<double>(i % 8) - 7.0 * static_cast<double>(i / 8);
  }
  const FlatnessResult result = found(grid);
  CHECK(result.met);
  CHECK(result.worst_mm == Approx(0.0).margin(1e-9));
  CHECK(result.filler->to_high_plane_l == Approx(0.0).margin(1e-5));
}

TEST_CASE("ExactlyTheLimitIsWithinIt") {
  HeightGrid grid = grid_of(5, 1, 0.25, 0.25);
  grid.heights_mm[2] = -3.0;
  CHECK(found(grid).met);
  grid.heights_mm[2] = -3.01;
  CHECK_FALSE(found(grid).met);
  CHECK(found(grid, {4.0, 1.0, "the floor's instructions"}).met);
}

TEST_CASE("WhatIsWiderThanTheStraightedgeIsNoGap") {
  // A valley with sides of 2 m: 8 mm deep over 4 m, but along each metre at most a part of that. At
  // the bottom, half a metre to each side rises 8 * 0.5 / 2 = 2 mm.
  HeightGrid grid = grid_of(17, 1, 0.25, 0.25);
  for (std::size_t i = 0; i < 17; ++i) {
    grid.heights_mm[i] = std::abs(static_cast<double>(i) - 8.0);
  }
  CHECK(found(grid).worst_mm == Approx(2.0));
  CHECK(found(grid, {3.0, 2.0, "x"}).worst_mm == Approx(4.0));
}

TEST_CASE("GridsAgreeWithABruteForceOverEveryPlacement") {
  const unsigned seed = 20260;
  INFO("seed " << seed);
  std::mt19937 random(seed);
  std::normal_distribution<double> height(0.0, 2.0);
  std::uniform_real_distribution<double> share(0.0, 1.0);
  for (int run = 0; run < 200; ++run) {
    const std::size_t columns = 3 + random() % 8;
    const std::size_t rows = 3 + random() % 6;
    HeightGrid grid = grid_of(columns, rows, 0.1 + 0.4 * share(random), 0.1 + 0.4 * share(random));
    for (auto& cell : grid.heights_mm) {
      cell = share(random) < 0.1 ? std::nullopt : std::optional(height(random));
    }
    const auto result = flatness_from({grid, {}, 0.5}, {});
    const double brute = brute_worst(grid, 1.0);
    INFO("run " << run << ", " << columns << " x " << rows);
    if (!result) {
      CHECK(brute == 0.0);
      continue;
    }
    CHECK(result.value().worst_mm == Approx(brute).margin(1e-9));
    CHECK(brute_worst(filled_to_limit(grid), 1.0) <= 3.0 + 0.001);
    CHECK(result.value().filler->within_limit_l <= result.value().filler->to_high_plane_l + 1e-6);
  }
}

TEST_CASE("NoStraightedgeLiesAcrossAHole") {
  HeightGrid grid = grid_of(5, 1, 0.25, 0.25);
  grid.heights_mm = {0.0, -1.0, std::nullopt, -9.0, 0.0};
  const auto result = flatness_from({grid, {}, 0.5}, {});
  REQUIRE_FALSE(result.has_value());
  CHECK(result.error() ==
        "1 rows of 5 heights: no three in a line; a straightedge rests on two and a gap is below a "
        "third");
}

TEST_CASE("LinesUnderAStringAreReadAsHeightsBelowIt") {
  // Gaps under a string of 2 m. Between 0 and 1 m the straightedge rests at 0 and 1 m, 0 and 2 mm
  // down: halfway it is 1 mm down, the floor 5 mm: a gap of 4 mm.
  const FlatnessReadings readings{
      std::nullopt, {{{0.0, 0.0}, {0.5, -5.0}, {1.0, -2.0}, {1.5, -2.0}, {2.0, -2.0}}}, 0.5};
  const auto result = flatness_from(readings, {});
  REQUIRE(result.has_value());
  CHECK(result.value().worst_mm == Approx(4.0));
  CHECK(result.value().worst_at == FlatnessPlace{FlatnessDirection::line, 0, 1, 0.5, 0.0});
  // Rests in the middle: 2 * 0.5 * sqrt(0.25 + 0.25 + 1) = 1.2247 mm.
  CHECK(result.value().expanded_uncertainty_mm == Approx(1.2247).margin(1e-4));
  CHECK_FALSE(result.value().filler.has_value());
}

TEST_CASE("ReadingsTooFarApartAreRefusedOrSaid") {
  const auto coarse = flatness_from({grid_of(4, 4, 0.6, 0.6), {}, 0.5}, {});
  REQUIRE_FALSE(coarse.has_value());
  CHECK(coarse.error() == "heights lie 60 cm apart; a straightedge of 100 cm needs 50 cm at most");
  const auto one_way = flatness_from({grid_of(6, 4, 0.25, 0.6), {}, 0.5}, {});
  REQUIRE(one_way.has_value());
  REQUIRE(one_way.value().unseen.size() == 2);
  CHECK(one_way.value().unseen[0] == UnseenDirection{FlatnessDirection::across_rows, 0.6});
  CHECK(one_way.value().unseen[1].apart_m == Approx(0.65));
  const auto told = lines_from(one_way.value(), {{}, false}, 5);
  CHECK(told[told.size() - 2] == "  not seen: across the rows (heights 60 cm apart)");
  CHECK(told.back() == "  not seen: along the diagonals (heights 65 cm apart)");
  const auto line = flatness_from({std::nullopt, {{{0, 0}, {0.8, -1}, {1.0, 0}}}, 0.5}, {});
  REQUIRE_FALSE(line.has_value());
  CHECK(line.error() ==
        "line 1: two readings lie 80 cm apart; a straightedge of 100 cm needs 50 cm at most");
  const auto back = flatness_from({std::nullopt, {{{0, 0}, {0.4, -1}, {0.3, 0}}}, 0.5}, {});
  CHECK(back.error() ==
        "line 1: the readings don't go forward at 30 cm; expected each one farther along");
  CHECK(flatness_from({std::nullopt, {{{0, 0}, {0.4, -1}}}, 0.5}, {})
            .error()
            .starts_with("line 1: 2 readings; expected three"));
  CHECK(flatness_from({std::nullopt, {}, 0.5}, {}).error().starts_with("no readings"));
}

TEST_CASE("FortyFiveCentimetresApartSeeNinetyOfAHundred") {
  const auto result = found(grid_of(6, 6, 0.3, 0.3));
  CHECK(result.seen_m == Approx(0.9));
  CHECK(result.unseen.empty());
  CHECK(lines_from(result, {{}, false}, 5).back() ==
        "  not seen: more than 90 cm of the straightedge's 100 cm");
}

TEST_CASE("TextsNameWorstLimitSourceAndPlace") {
  HeightGrid grid = grid_of(5, 5, 0.25, 0.25);
  grid.heights_mm[12] = -6.0;
  grid.heights_mm[0] = std::nullopt;
  const FlatnessResult result = found(grid);
  CHECK(grounds_from(result, {{}, false}) ==
        "Worst gap 6.0 mm, allowed 3 mm in 1 m (common practice), ±1.2 mm (k = 2), row 3, height 3 "
        "(0.50 m "
        "along, 0.50 m across); 24 readings, 1 beyond");
  for (const std::string& line : lines_from(result, {{}, false}, 5)) {
    CHECK(line.size() <= 80);
  }
  const auto map = map_lines_from(result, grid, false);
  REQUIRE(map.size() == 7);
  CHECK(map[2] == "  1     -   0.0   0.0   0.0   0.0");
  CHECK(map[4] == "  3   0.0   0.0   6.0v  0.0   0.0");
  CHECK(
      map_lines_from(found(grid_of(20, 3, 0.25, 0.25)), grid_of(20, 3, 0.25, 0.25), false).empty());
}

TEST_CASE("AnInstallerWhoWorksInInchesIsToldInInches") {
  // 3/16 in in 10 ft: 0.1875 * 25.4 = 4.7625 mm, 3.048 m. A dip of 6 mm is 0.24 in.
  const FlatnessLimit limit{4.7625, 3.048, "Product sheet 7"};
  HeightGrid grid = grid_of(5, 5, 0.254, 0.254);  // 10 in
  grid.heights_mm[12] = -6.0;
  const auto result = flatness_from({grid, {}, 0.5}, limit);
  REQUIRE(result.has_value());
  const auto lines = lines_from(result.value(), {limit, true}, 5);
  CHECK(lines[0] ==
        "flat: not met. Worst gap 0.24 in, allowed 0.188 in over 10' (Product sheet 7)");
  CHECK(lines[1].ends_with("row 3, height 3 (1' 8\" along, 1' 8\" across)"));
  for (const std::string& line : lines) {
    INFO(line);
    CHECK(line.find(" mm") == std::string::npos);
    CHECK(line.find(" cm") == std::string::npos);
    CHECK(line.find("litre") == std::string::npos);
  }
  CHECK(map_lines_from(result.value(), grid, true)[4] == "  3  0.00  0.00  0.24v 0.00  0.00");
  CHECK(grounds_from(result.value(), {limit, true})
            .starts_with("Worst gap 6.0 mm [0.24 in], allowed 4.7625 mm in 3.048 m [0.188 in over "
                         "10'] (Product sheet 7), ±"));
  CHECK(grounds_from(result.value(), {limit, false})
            .starts_with("Worst gap 6.0 mm, allowed 4.7625 mm in 3.048 m (Product sheet 7), ±"));
}

TEST_CASE("AGapJustBeyondTheLimitDoesNotReadAsTheLimit") {
  CHECK(gap_text(3.04, {{}, false}) == "3.04 mm");
  CHECK(gap_text(3.0, {{}, false}) == "3.0 mm");
  // 3 mm = 0.118 in, 3.1 mm = 0.122 in.
  CHECK(gap_text(3.1, {{}, true}) == "0.122 in");
}

TEST_CASE("FillerIsToldInTheMeasureItIsBoughtIn") {
  // A US gallon is 3.785411784 litres, 4 quarts, 128 fluid ounces (NIST Handbook 44, appendix C).
  CHECK(filler_text(0.1875, false) == "0.19 litres");
  CHECK(filler_text(0.1875, true) == "6.3 US fl oz");  // 0.1875 / 3.7854 * 128 = 6.34
  CHECK(filler_text(2.0, true) == "2.1 US quarts");
  CHECK(filler_text(18.93, true) == "5.0 US gallons");
}
