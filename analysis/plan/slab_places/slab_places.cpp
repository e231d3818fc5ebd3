#include "analysis/plan/slab_places/slab_places.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/room/wall_stretch.hpp"

namespace analysis::plan {
namespace {

constexpr std::size_t kMostPlaces = 2000;
constexpr std::size_t kLeastPoints = 4000;
constexpr std::size_t kPointsPerPlace = 25;
constexpr int kRounds = 40;
constexpr int kWallSteps = 20;
constexpr double kAlongside = 0.5;  // sine of the angle below which two walls run alongside

double square_between(PlanPoint a, PlanPoint b) {
  return (a.x_m - b.x_m) * (a.x_m - b.x_m) + (a.y_m - b.y_m) * (a.y_m - b.y_m);
}

// A point of the floor; the floor is the sum of all of them.
struct FloorPoint {
  PlanPoint at;
  double from_walls_m = 0.0;
  double from_items_m = 0.0;
};

std::vector<FloorPoint> floor_points(const Region& room, std::size_t wanted) {
  const Bounds bounds = bounds_of(room.outer);
  const double width = bounds.high_x_m - bounds.low_x_m;
  const double height = bounds.high_y_m - bounds.low_y_m;
  const double step = std::sqrt(area_of(room).value() / static_cast<double>(wanted));
  const auto columns = static_cast<std::size_t>(std::ceil(width / step));
  const auto rows = static_cast<std::size_t>(std::ceil(height / step));
  std::vector<FloorPoint> points;
  for (std::size_t row = 0; row < rows; ++row) {
    for (std::size_t column = 0; column < columns; ++column) {
      const PlanPoint at{
          bounds.low_x_m +
              (static_cast<double>(column) + 0.5) * width / static_cast<double>(columns),
          bounds.low_y_m + (static_cast<double>(row) + 0.5) * height / static_cast<double>(rows)};
      if (!contains(room, at)) {
        continue;
      }
      FloorPoint point{at, distance_from_outline(room.outer, at).value(),
                       std::numeric_limits<double>::infinity()};
      for (const Outline& hole : room.holes) {
        point.from_items_m = std::min(point.from_items_m, distance_from_outline(hole, at).value());
      }
      points.push_back(point);
    }
  }
  return points;
}

using Chosen = std::vector<PlanPoint>;

struct Search {
  const std::vector<FloorPoint>& floor;
  const std::vector<PlanPoint>& allowed;
  std::size_t count;
  std::size_t pinned;  // the first so many stay where they are
  double apart_m;
};

bool is_apart(const Search& search, const Chosen& chosen, PlanPoint point, std::size_t but) {
  for (std::size_t i = 0; i < chosen.size(); ++i) {
    if (i != but && square_between(chosen[i], point) < search.apart_m * search.apart_m) {
      return false;
    }
  }
  return true;
}

// Each next place the farthest from those that are there; fewer than wanted where none is apart.
Chosen farthest_places(const Search& search, Chosen chosen) {
  std::vector<double> nearest(search.allowed.size(), std::numeric_limits<double>::infinity());
  const auto count_in = [&](PlanPoint place) {
    for (std::size_t i = 0; i < nearest.size(); ++i) {
      nearest[i] = std::min(nearest[i], square_between(search.allowed[i], place));
    }
  };
  std::for_each(chosen.begin(), chosen.end(), count_in);
  while (chosen.size() < search.count) {
    const auto farthest = std::max_element(nearest.begin(), nearest.end());
    if (*farthest < search.apart_m * search.apart_m) {
      break;
    }
    chosen.push_back(search.allowed[static_cast<std::size_t>(farthest - nearest.begin())]);
    count_in(chosen.back());
  }
  return chosen;
}

struct Sums {
  double x = 0.0;
  double y = 0.0;
  double points = 0.0;
};

// Sum of squares to the nearest place; what each place is nearest to, into `sums`.
double spread_of(const Search& search, const Chosen& chosen, std::vector<Sums>& sums) {
  sums.assign(chosen.size(), {});
  double total = 0.0;
  for (const FloorPoint& point : search.floor) {
    std::size_t nearest = 0;
    double least = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < chosen.size(); ++i) {
      const double square = square_between(point.at, chosen[i]);
      if (square < least) {
        least = square;
        nearest = i;
      }
    }
    total += least;
    sums[nearest].x += point.at.x_m;
    sums[nearest].y += point.at.y_m;
    sums[nearest].points += 1.0;
  }
  return total;
}

// Every place goes to the middle of the floor that is nearest to it, as near as it may; again until
// nothing is gained.
double settle(const Search& search, Chosen& chosen) {
  std::vector<Sums> sums;
  double best = spread_of(search, chosen, sums);
  for (int round = 0; round < kRounds; ++round) {
    Chosen moved = chosen;
    for (std::size_t i = search.pinned; i < moved.size(); ++i) {
      if (sums[i].points == 0.0) {
        continue;
      }
      const PlanPoint middle{sums[i].x / sums[i].points, sums[i].y / sums[i].points};
      double least = std::numeric_limits<double>::infinity();
      for (const PlanPoint point : search.allowed) {
        const double square = square_between(point, middle);
        if (square < least && is_apart(search, moved, point, i)) {
          least = square;
          moved[i] = point;
        }
      }
    }
    const double now = spread_of(search, moved, sums);
    if (!(now < best)) {
      break;
    }
    best = now;
    chosen = std::move(moved);
  }
  return best;
}

// The best of several starts; empty where there is not room for so many.
Chosen spread_places(const Search& search, const Chosen& pinned) {
  const std::size_t starts =
      pinned.empty() ? std::clamp<std::size_t>(160 / search.count, 1, 16) : 1;
  Chosen best;
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t start = 0; start < starts; ++start) {
    Chosen chosen = pinned;
    if (pinned.empty()) {
      chosen.push_back(search.allowed[start * search.allowed.size() / starts]);
    }
    chosen = farthest_places(search, std::move(chosen));
    if (chosen.size() < search.count) {
      continue;
    }
    const double spread = settle(search, chosen);
    if (spread < least) {
      least = spread;
      best = std::move(chosen);
    }
  }
  return best;
}

PlanPoint nearest_of(const std::vector<PlanPoint>& points, PlanPoint wanted) {
  return *std::min_element(points.begin(), points.end(), [&](PlanPoint a, PlanPoint b) {
    return square_between(a, wanted) < square_between(b, wanted);
  });
}

std::vector<PlanPoint> allowed_points(const std::vector<FloorPoint>& floor, double from_walls_m,
                                      double from_items_m) {
  std::vector<PlanPoint> allowed;
  for (const FloorPoint& point : floor) {
    if (point.from_walls_m >= from_walls_m && point.from_items_m >= from_items_m) {
      allowed.push_back(point.at);
    }
  }
  return allowed;
}

// As the rules say where the room allows it; else nearer to the walls, then nearer to each other
// and to fixed items.
Chosen places_in(const SlabPlacesRequest& request, const std::vector<FloorPoint>& floor) {
  for (const double apart_share : {1.0, 0.5, 0.25, 0.0}) {
    for (int step = kWallSteps; step >= 1; --step) {
      const double share = static_cast<double>(step) / kWallSteps;
      const auto allowed = allowed_points(floor, share * request.rules.from_walls.value(),
                                          apart_share * request.rules.from_items.value());
      if (allowed.size() < request.count) {
        continue;
      }
      Chosen pinned;
      if (request.wettest) {
        pinned.push_back(nearest_of(allowed, request.wettest->at));
      }
      const Search search{floor, allowed, request.count, pinned.size(),
                          apart_share * request.rules.apart.value()};
      if (auto found = spread_places(search, pinned); !found.empty()) {
        return found;
      }
    }
  }
  return {};
}

// Walls that a tape reaches square from `point`, the nearest first.
std::vector<WallDistance> wall_distances(const Region& room, PlanPoint point) {
  const Outline& walls = room.outer;
  const auto name_of_corner = [&](std::size_t index) {
    return given_corner(room, static_cast<int>(index % walls.size()) + 1);
  };
  struct Reached {
    WallDistance wall;
    double dx = 0.0;  // along it, of length 1
    double dy = 0.0;
  };
  std::vector<Reached> reached;
  for (std::size_t i = 0; i < walls.size(); ++i) {
    const auto [a, b] = wall_of(walls, i);
    const double length = std::sqrt(square_between(a, b));
    const double dx = (b.x_m - a.x_m) / length;
    const double dy = (b.y_m - a.y_m) / length;
    const double along = (point.x_m - a.x_m) * dx + (point.y_m - a.y_m) * dy;
    if (along >= 0.0 && along <= length) {
      reached.push_back({{name_of_corner(i), name_of_corner(i + 1),
                          Metres{std::abs(dx * (point.y_m - a.y_m) - dy * (point.x_m - a.x_m))}},
                         dx,
                         dy});
    }
  }
  std::stable_sort(reached.begin(), reached.end(), [](const Reached& a, const Reached& b) {
    return a.wall.distance < b.wall.distance;
  });
  std::vector<WallDistance> two;
  for (const Reached& each : reached) {
    const Reached& first = reached.front();
    if (two.empty()) {
      two.push_back(each.wall);
    } else if (std::abs(first.dx * each.dy - first.dy * each.dx) > kAlongside) {
      two.push_back(each.wall);
      break;
    }
  }
  return two;
}

void add_remarks(SlabPlaces& result, const SlabPlacesRequest& request) {
  const SlabPlaceRules& rules = request.rules;
  if (result.clear_of_walls < rules.from_walls) {
    result.remarks.push_back("the room does not allow " + metric_text_from(rules.from_walls) +
                             " from every wall; the nearest place lies " +
                             metric_text_from(result.clear_of_walls) + " from one");
  }
  if (result.places.size() > 1 && result.apart < rules.apart) {
    result.remarks.push_back("the room does not allow " + metric_text_from(rules.apart) +
                             " between places; two lie " + metric_text_from(result.apart) +
                             " apart");
  }
  const auto near_item = [&](const SlabPlace& place) {
    return std::any_of(
        request.room.holes.begin(), request.room.holes.end(), [&](const Outline& hole) {
          return distance_from_outline(hole, place.at).value() < rules.from_items.value() - 1e-9;
        });
  };
  if (std::any_of(result.places.begin(), result.places.end(), near_item)) {
    result.remarks.push_back("a place lies nearer than " + metric_text_from(rules.from_items) +
                             " to a fixed item: the room allows no more");
  }
  if (request.wettest) {
    result.remarks.push_back(
        "place T1 lies as near as the rules allow to where the slab is "
        "expected to be wettest: " +
        request.wettest->why);
  }
}

}  // namespace

base::Result<SlabPlaces, std::string> slab_places_from(const SlabPlacesRequest& request) {
  if (request.count < 1 || request.count > kMostPlaces) {
    return base::Failure{std::to_string(request.count) + " places; expected 1 to " +
                         std::to_string(kMostPlaces)};
  }
  const auto floor =
      floor_points(request.room, std::max(kLeastPoints, kPointsPerPlace * request.count));
  Chosen chosen = places_in(request, floor);
  if (chosen.empty()) {
    return base::Failure{std::string("there is no free floor for ") +
                         std::to_string(request.count) + " places"};
  }
  const std::ptrdiff_t pinned = request.wettest ? 1 : 0;
  std::sort(chosen.begin() + pinned, chosen.end(), [](PlanPoint a, PlanPoint b) {
    return a.x_m != b.x_m ? a.x_m < b.x_m : a.y_m < b.y_m;
  });
  SlabPlaces result;
  double walls = std::numeric_limits<double>::infinity();
  double apart = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < chosen.size(); ++i) {
    const PlanPoint at = chosen[i];
    result.places.push_back({at, wall_distances(request.room, at), request.wettest && i == 0});
    walls = std::min(walls, distance_from_outline(request.room.outer, at).value());
    for (std::size_t j = 0; j < i; ++j) {
      apart = std::min(apart, std::sqrt(square_between(chosen[j], at)));
    }
  }
  result.clear_of_walls = Metres{walls};
  result.apart = Metres{chosen.size() > 1 ? apart : 0.0};
  add_remarks(result, request);
  return result;
}

std::vector<std::size_t> places_shared(const std::vector<SquareMetres>& rooms, std::size_t total) {
  std::vector<std::size_t> shares(rooms.size(), 1);
  // Each further place goes where one place stands for the most floor.
  for (std::size_t given = rooms.size(); given < total && !rooms.empty(); ++given) {
    std::size_t neediest = 0;
    for (std::size_t i = 1; i < rooms.size(); ++i) {
      const double here = rooms[i].value() / static_cast<double>(shares[i]);
      const double there = rooms[neediest].value() / static_cast<double>(shares[neediest]);
      neediest = here > there ? i : neediest;
    }
    ++shares[neediest];
  }
  return shares;
}

std::vector<PlaceMark> place_marks(const SlabPlaces& places, double turned_degrees) {
  std::vector<PlaceMark> marks;
  for (const SlabPlace& place : places.places) {
    marks.push_back({turned(place.at, turned_degrees), "T" + std::to_string(marks.size() + 1)});
  }
  return marks;
}

}  // namespace analysis::plan
