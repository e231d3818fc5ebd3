// Outlines: areas and bands against Boost.Geometry (an independent reference), refusals, insets.
#include "analysis/plan/room/outline.hpp"

#include <boost/geometry.hpp>
#include <boost/geometry/geometries/multi_polygon.hpp>
#include <boost/geometry/geometries/point_xy.hpp>
#include <boost/geometry/geometries/polygon.hpp>
#include <catch2/catch.hpp>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/room/stretches.hpp"
#include "tests/plan/random_rooms.hpp"

using namespace analysis::plan;
namespace bg = boost::geometry;
using Point = bg::model::d2::point_xy<double>;
using Polygon = bg::model::polygon<Point, false>;

namespace {

Polygon polygon_of(const Region& region) {
  Polygon polygon;
  for (const PlanPoint corner : region.outer) {
    bg::append(polygon.outer(), Point(corner.x_m, corner.y_m));
  }
  polygon.inners().resize(region.holes.size());
  for (std::size_t i = 0; i < region.holes.size(); ++i) {
    for (const PlanPoint corner : region.holes[i]) {
      bg::append(polygon.inners()[i], Point(corner.x_m, corner.y_m));
    }
  }
  bg::correct(polygon);
  return polygon;
}

std::string fault_of(const Outline& outer, const std::vector<Outline>& holes = {}) {
  const auto region = region_from({outer, holes});
  return region ? "" : region.error();
}

const Outline kSquare{{0, 0}, {4, 0}, {4, 4}, {0, 4}};

}  // namespace

TEST_CASE("Areas, perimeters and bands of random rooms are those of the reference") {
  constexpr std::uint32_t kSeed = 7;
  INFO("seed " << kSeed);
  plan_tests::RandomRooms rooms(kSeed);
  for (int i = 0; i < 300; ++i) {
    const Region region = turned(region_from(rooms.next()).value(), rooms.between(0, 360));
    const Polygon polygon = polygon_of(region);
    INFO("room " << i);
    REQUIRE(bg::is_valid(polygon));
    CHECK(area_of(region).value() == Approx(bg::area(polygon)).epsilon(1e-9));
    Polygon outer = polygon;
    outer.inners().clear();
    CHECK(perimeter_of(region.outer).value() == Approx(bg::perimeter(outer)).epsilon(1e-9));
    const Bounds bounds = bounds_of(region.outer);
    const double low = rooms.between(bounds.low_y_m, bounds.high_y_m - 0.3);
    const double high = low + 0.2;
    bg::model::box<Point> box(Point(bounds.low_x_m - 1, low), Point(bounds.high_x_m + 1, high));
    bg::model::multi_polygon<Polygon> parts;
    Polygon band;
    bg::convert(box, band);
    bg::intersection(polygon, band, parts);
    const auto stretches = stretches_between(region, low, high, bounds);
    REQUIRE(stretches.size() == parts.size());
    std::vector<Stretch> expected;
    for (const Polygon& part : parts) {
      bg::model::box<Point> around;
      bg::envelope(part, around);
      expected.push_back({around.min_corner().x(), around.max_corner().x()});
    }
    std::sort(expected.begin(), expected.end(),
              [](const Stretch& a, const Stretch& b) { return a.low_x_m < b.low_x_m; });
    for (std::size_t k = 0; k < expected.size(); ++k) {
      CHECK(stretches[k].low_x_m == Approx(expected[k].low_x_m).margin(1e-6));
      CHECK(stretches[k].high_x_m == Approx(expected[k].high_x_m).margin(1e-6));
    }
  }
}

TEST_CASE("An inset keeps its distance from every wall") {
  constexpr std::uint32_t kSeed = 8;
  plan_tests::RandomRooms rooms(kSeed);
  for (int i = 0; i < 200; ++i) {
    const Region region = region_from(rooms.next()).value();
    const auto inner = inset(region, Metres{0.010});
    INFO("seed " << kSeed << " room " << i);
    REQUIRE(inner);
    const Polygon floor = polygon_of(inner.value());
    bg::model::multi_polygon<Polygon> outside;
    bg::difference(floor, polygon_of(region), outside);
    CHECK(bg::area(outside) < 1e-9);
    // Moving each wall by g takes g times its length, but for the corners: their sum of g^2 tan.
    const double taken = bg::area(polygon_of(region)) - bg::area(floor);
    double walls = perimeter_of(region.outer).value();
    for (const Outline& hole : region.holes) {
      walls += perimeter_of(hole).value();
    }
    CHECK(taken == Approx(0.010 * walls).margin(0.002));
    const Polygon walls_of = polygon_of(region);
    bg::model::linestring<Point> wall(walls_of.outer().begin(), walls_of.outer().end());
    for (const PlanPoint corner : inner.value().outer) {
      const double away = bg::distance(Point(corner.x_m, corner.y_m), wall);
      CHECK(away > 0.010 - 1e-6);
      CHECK(away < 0.010 * 1.4143);  // at a corner that juts in, its diagonal
    }
  }
  // A wall of 1.5 cm between two inner corners can't stand back by 1 cm on both sides.
  const Outline notched{{0, 0}, {4, 0}, {4, 2}, {3.985, 2}, {3.985, 4}, {0, 4}};
  const auto thin = inset(region_from({notched, {}}).value(), Metres{0.010});
  CHECK(thin);  // one corner in, one out: it only moves
  const Outline slit{{0, 0}, {4, 0}, {4, 4}, {2.01, 4}, {2.01, 2}, {1.995, 2}, {1.995, 4}, {0, 4}};
  CHECK(inset(region_from({slit, {}}).value(), Metres{0.010}));  // the wall between grows
  const Outline narrow{{0, 0}, {4, 0}, {4, 0.018}, {0, 0.018}};
  CHECK(inset(region_from({narrow, {}}).value(), Metres{0.010}).error().find("too") !=
        std::string::npos);
}

TEST_CASE("What is wrong with an outline is said by its corners") {
  CHECK(fault_of(kSquare).empty());
  CHECK(fault_of({{0, 0}, {1, 0}}) == "it has 2 corners; expected 3 or more");
  CHECK(fault_of({{0, 0}, {4, 0}, {4, 4}, {0, 4}, {0, 0}}).find("corners 5 and 1 are the same") !=
        std::string::npos);
  CHECK(fault_of({{0, 0}, {4, 4}, {4, 0}, {0, 4}}) ==
        "the wall from corner 1 to 2 crosses or touches the wall from corner 3 to 4");
  CHECK(fault_of({{0, 0}, {4, 0}, {4, 4}, {4, 2}, {0, 2}}).find("goes back along") !=
        std::string::npos);
  CHECK(fault_of({{0, 0}, {4, 0}, {2, 0}}).find("goes back along") != std::string::npos);
  CHECK(fault_of(kSquare, {{{1, 1}, {2, 1}, {2, 2}, {1, 2}}}).empty());
  CHECK(fault_of(kSquare, {{{3, 3}, {5, 3}, {5, 5}, {3, 5}}}) ==
        "fixed item 1 does not lie wholly inside the room");
  CHECK(fault_of(kSquare, {{{1, 1}, {2, 1}, {2, 2}, {1, 2}}, {{1.5, 1.5}, {3, 1.5}, {3, 3}}}) ==
        "fixed item 2 lies over fixed item 1");
}

TEST_CASE("Lengths are read as people write them") {
  const auto metres = [](const char* text) {
    const auto length = length_from_text(text);
    INFO(text);
    REQUIRE(length);
    return length.value().value();
  };
  CHECK(metres("4.2") == 4.2);
  CHECK(metres("4.2 m") == 4.2);
  CHECK(metres("420cm") == Approx(4.2));
  CHECK(metres("4200 mm") == Approx(4.2));
  // 12 x 0.3048 + 6.5 x 0.0254 = 3.6576 + 0.1651 = 3.8227
  CHECK(metres("12' 6 1/2\"") == Approx(3.8227).epsilon(1e-12));
  CHECK(metres("12ft 6 1/2in") == Approx(3.8227).epsilon(1e-12));
  CHECK(metres("12'-6 1/2\"") == Approx(3.8227).epsilon(1e-12));
  CHECK(metres("12\u2032 6.5\u2033") == Approx(3.8227).epsilon(1e-12));
  CHECK(metres("12'") == Approx(3.6576));
  CHECK(metres("12.5'") == Approx(3.81));
  CHECK(metres("1/2 in") == Approx(0.0127));
  for (const char* wrong : {"", "m", "-4", "4,2", "4.2 x", "12' 12\"", "12.5' 3\"", "6 5/4 in",
                            "1/0 in", "1e3", "nan", "inf", "2000 m", "12' 6", "4 2"}) {
    INFO(wrong);
    CHECK_FALSE(length_from_text(wrong));
  }
  CHECK(imperial_text_from(Metres{3.8227}) == "12' 6 1/2\"");
  CHECK(imperial_text_from(Metres{3.6576}) == "12' 0\"");
  CHECK(imperial_text_from(Metres{0.0127}) == "1/2\"");
  CHECK(metric_text_from(Metres{3.8227}) == "3.823 m");
  CHECK(metric_text_from(Metres{4.2}) == "4.20 m");
}
