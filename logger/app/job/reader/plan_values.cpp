// A room's plan out of checked objects. Lengths and outlines are read here, so what is wrong with
// them is found here too.
#include <algorithm>
#include <cmath>

#include "analysis/plan/room/length_text.hpp"
#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"
#include "logger/app/job/reader/keys/plan_keys.hpp"
#include "logger/app/job/reader/length_values.hpp"

namespace logger::app {
namespace {

using analysis::base::Metres;
using namespace analysis::plan;
using namespace key_rules;

class PlanReader {
 public:
  PlanReader(const ObjectView& view, std::string path, Findings& findings)
      : view_(view), path_(std::move(path)), findings_(findings) {}

  JobPlan read() {
    JobPlan plan;
    RoomPlanRequest& request = plan.request;
    read_outlines(plan);
    read_doors(request);
    read_pipes(request);
    request.rows_degrees = view_.number("rows_degrees");
    request.light_degrees = view_.number("light_degrees");
    request.begin_at_far_side = view_.boolean("begin_at_far_side").value_or(false);
    read_panel(plan);
    put(view_, path_, kWallGap, request.wall_gap);
    put(view_, path_, kLeastPiece, request.rules.least_piece);
    put(view_, path_, kLeastOffset, request.rules.least_offset);
    put(view_, path_, kLeastRowWidth, request.rules.least_row_width);
    put(view_, path_, kJointBeyondWidth, request.widest);
    request.longest = length(view_, path_, kJointBeyondLength);
    put(view_, path_, kTrimBar, request.trim_bar);
    put(view_, path_, kProfileBar, plan.terms.profile_bar);
    put(view_, path_, kTapeRoll, plan.terms.tape_roll);
    plan.terms.prices = prices();
    plan.laying_on = view_.moment("laying_on", DayReading::its_begin);
    if (const auto celsius = view_.number("kept_at_celsius")) {
      plan.kept_at = analysis::base::Celsius{*celsius};
    }
    plan.floor_bears_kg_per_m2 =
        view_.number("floor_bears_kg_per_m2").value_or(plan.floor_bears_kg_per_m2);
    read_heaters(plan);
    if (const auto percent = view_.number("waste_percent")) {
      plan.waste_rule_fraction = *percent / 100.0;
    }
    plan.packs_delivered = static_cast<int>(view_.whole_number("packs_delivered").value_or(0));
    read_sheets(plan);
    read_slab_tests(plan);
    plan.source = view_.text("source").value_or("");
    return plan;
  }

 private:
  void refuse(const ObjectView& view, const std::string& path, std::string_view key,
              const std::string& text) {
    findings_.add_error(view.line_of(key), key_path(path, key), text);
  }

  // nullopt where the key is absent or no such length.
  std::optional<Metres> length(const ObjectView& view, const std::string& path,
                               const LengthRule& rule) {
    return length_of_key(view, path, rule, findings_);
  }
  void put(const ObjectView& view, const std::string& path, const LengthRule& rule, Metres& into) {
    into = length(view, path, rule).value_or(into);
  }

  // "X; Y"
  std::optional<PlanPoint> point_in(std::string_view text, int line, const std::string& path,
                                    const std::string& what) {
    const auto mark = text.find(';');
    if (mark == std::string::npos) {
      findings_.add_error(line, path,
                          in_quotes(text) + " is no " + what + "; expected two lengths \"X; Y\"");
      return std::nullopt;
    }
    const auto x = length_in(text.substr(0, mark), kCoordinate);
    const auto y = length_in(text.substr(mark + 1), kCoordinate);
    if (!x || !y) {
      findings_.add_error(line, path, x ? y.error() : x.error());
      return std::nullopt;
    }
    return PlanPoint{x.value().value(), y.value().value()};
  }
  Outline outline(const ObjectView& view, const std::string& path) {
    Outline corners;
    const auto& items = view.items("outline");
    for (std::size_t i = 0; i < items.size(); ++i) {
      if (items[i].kind != JsonKind::text) {
        continue;  // said already
      }
      if (const auto point = point_in(items[i].text, items[i].line,
                                      item_path(key_path(path, "outline"), i), "corner")) {
        corners.push_back(*point);
      }
    }
    return corners;
  }
  // "5.2 m x 4.1 m"
  Outline outline_of_size(std::string size) {
    for (const std::string_view mark : {"\u00d7", "X"}) {
      if (const auto at = size.find(mark); at != std::string::npos) {
        size.replace(at, mark.size(), "x");
      }
    }
    const auto mark = size.find('x');
    if (mark == std::string::npos) {
      refuse(view_, path_, "size", in_quotes(size) + " is no size; expected \"5.2 m x 4.1 m\"");
      return {};
    }
    const auto width = length_in(std::string_view(size).substr(0, mark), kSide);
    const auto depth = length_in(std::string_view(size).substr(mark + 1), kSide);
    if (!width || !depth) {
      refuse(view_, path_, "size", (width ? depth : width).error());
      return {};
    }
    const double w = width.value().value();
    const double d = depth.value().value();
    return {{0, 0}, {w, 0}, {w, d}, {0, d}};
  }

  void read_outlines(JobPlan& plan) {
    const auto size = view_.text("size");
    if (size.has_value() == view_.has("outline")) {
      refuse(view_, path_, size ? "outline" : "size",
             size ? "and \"size\" are two ways to say the same; leave one out"
                  : "or \"outline\" is needed");
      return;
    }
    Region region{size ? outline_of_size(*size) : outline(view_, path_), {}};
    const auto& items = view_.items("fixed_items");
    for (std::size_t i = 0; i < items.size(); ++i) {
      const ObjectView item(&items[i]);
      plan.fixed_items.push_back(item.text("name").value_or(""));
      region.holes.push_back(outline(item, item_path(key_path(path_, "fixed_items"), i)));
    }
    if (findings_.has_errors()) {
      return;  // said already; a half outline would only bring more
    }
    // One after the other, so that what is wrong has its own line.
    Region grown{std::move(region.outer), {}};
    auto checked = region_from(grown);
    if (!checked) {
      refuse(view_, path_, size ? "size" : "outline", checked.error());
      return;
    }
    for (std::size_t i = 0; i < items.size(); ++i) {
      grown.holes.push_back(std::move(region.holes[i]));
      checked = region_from(grown);
      if (!checked) {
        refuse(ObjectView(&items[i]), item_path(key_path(path_, "fixed_items"), i), "outline",
               in_quotes(plan.fixed_items[i]) + ": " + checked.error());
        return;
      }
    }
    plan.request.room = std::move(checked).value();
  }

  // Walls are named as the outline was written; a region goes anticlockwise.
  WallStretch stretch(const RoomPlanRequest& request, const ObjectView& item,
                      const std::string& path) {
    WallStretch place{static_cast<int>(item.whole_number("wall").value_or(1)), {}, {}};
    put(item, path, kFromCorner, place.from_corner);
    put(item, path, kOpeningWidth, place.width);
    const Outline& outer = request.room.outer;
    const int walls = static_cast<int>(outer.size());
    if (walls == 0) {
      return place;  // the outline was refused
    }
    if (place.wall > walls) {
      refuse(item, path, "wall", "the room has walls 1 to " + std::to_string(walls));
      return place;
    }
    const int own = given_wall(request.room, place.wall);  // there and back alike
    const PlanPoint a = outer[static_cast<std::size_t>(own) - 1];
    const PlanPoint b = outer[static_cast<std::size_t>(own % walls)];
    const double rest =
        std::hypot(b.x_m - a.x_m, b.y_m - a.y_m) - place.from_corner.value() - place.width.value();
    if (rest < -1e-6) {
      refuse(
          item, path, "width",
          "ends " + metric_text_from(Metres{-rest}) + " beyond wall " + std::to_string(place.wall));
    }
    return {own, request.room.is_reversed ? Metres{std::max(rest, 0.0)} : place.from_corner,
            place.width};
  }

  void read_doors(RoomPlanRequest& request) {
    const auto& items = view_.items("doors");
    for (std::size_t i = 0; i < items.size(); ++i) {
      const ObjectView item(&items[i]);
      const std::string path = item_path(key_path(path_, "doors"), i);
      const WallStretch place = stretch(request, item, path);
      request.doors.push_back({place.wall,
                               place.from_corner,
                               {place.width, transition(item, path)},
                               item.boolean("joint").value_or(false),
                               item.text("adjoins").value_or("")});
    }
  }
  void read_pipes(RoomPlanRequest& request) {
    const auto& items = view_.items("pipes");
    for (std::size_t i = 0; i < items.size(); ++i) {
      const ObjectView item(&items[i]);
      const std::string path = item_path(key_path(path_, "pipes"), i);
      PipePlace pipe;
      pipe.name = item.text("name").value_or("");
      put(item, path, kPipeDiameter, pipe.diameter);
      if (const auto at = point_in(item.text("at").value_or(""), item.line_of("at"),
                                   key_path(path, "at"), "place")) {
        pipe.centre = *at;
        request.pipes.push_back(pipe);
      }
    }
  }

  Transition transition(const ObjectView& door, const std::string& path) {
    if (door.has(kAdjoiningHeight.name)) {
      if (door.has("transition")) {
        refuse(door, path, kAdjoiningHeight.name,
               "and \"transition\" are two ways to say the same; leave one out");
      }
      return transition_from_step(length(door, path, kAdjoiningHeight).value_or(Metres{0.0}));
    }
    const auto name = door.text("transition");
    return name == "to_lower"  ? Transition::to_lower
           : name == "to_edge" ? Transition::to_edge
                               : Transition::same_level;
  }
  void read_heaters(JobPlan& plan) {
    const auto& items = view_.items("heaters");
    for (std::size_t i = 0; i < items.size(); ++i) {
      plan.heaters.push_back(
          stretch(plan.request, ObjectView(&items[i]), item_path(key_path(path_, "heaters"), i)));
    }
  }
  [[nodiscard]] Prices prices() const {
    const ObjectView view = view_.object("prices");
    return {view.text("currency").value_or(""), view.number("pack"),
            view.number("underlay_roll"),       view.number("barrier_roll"),
            view.number("tape_roll"),           view.number("trim_bar"),
            view.number("profile_bar"),         view.number("spacer")};
  }

  void read_panel(JobPlan& plan) {
    const ObjectView panel = view_.object("panel");
    const std::string path = key_path(path_, "panel");
    put(panel, path, kPanelLength, plan.request.panel.length);
    put(panel, path, kPanelWidth, plan.request.panel.width);
    plan.pack.panels = static_cast<int>(panel.whole_number("per_pack").value_or(1));
    const double area =
        plan.request.panel.length.value() * plan.request.panel.width.value() * plan.pack.panels;
    plan.pack.coverage =
        analysis::base::SquareMetres{panel.number("pack_coverage_m2").value_or(area)};
    if (area > 0.0 && std::abs(plan.pack.coverage.value() / area - 1.0) > 0.05) {
      refuse(panel, path, "pack_coverage_m2",
             value_text(plan.pack.coverage.value(), "pack_coverage_m2") + " is not what " +
                 std::to_string(plan.pack.panels) + " panels of that size cover (" +
                 value_text(area, "pack_coverage_m2") + ")");
    }
  }

  std::optional<RollSize> roll(const char* key) {
    const ObjectView view = view_.object(key);
    if (!view.present()) {
      return std::nullopt;
    }
    const auto width = length(view, key_path(path_, key), kRollWidth);
    const auto length_of = length(view, key_path(path_, key), kRollLength);
    return width && length_of ? std::optional(RollSize{*width, *length_of}) : std::nullopt;
  }
  void read_sheets(JobPlan& plan) {
    plan.request.underlay = roll("underlay");
    plan.underlay_has_barrier = view_.object("underlay").boolean("has_barrier").value_or(false);
    plan.request.barrier = roll("barrier");
    const ObjectView barrier = view_.object("barrier");
    put(barrier, key_path(path_, "barrier"), kLap, plan.request.barrier_rules.lap);
    put(barrier, key_path(path_, "barrier"), kUpturn, plan.request.barrier_rules.upturn);
    const Metres lap = plan.request.barrier_rules.lap;
    if (const auto& sheet = plan.request.barrier;
        sheet && (sheet->width <= lap || sheet->length <= lap)) {
      refuse(barrier, key_path(path_, "barrier"),
             sheet->width <= lap ? kRollWidth.name : kRollLength.name,
             "a roll that is no wider or longer than its lap of " + metric_text_from(lap));
    }
    if (plan.underlay_has_barrier && barrier.present()) {
      refuse(view_, path_, "barrier",
             "is not needed: the underlay has one; two would hold water between them");
    }
  }

  void read_slab_tests(JobPlan& plan) {
    const ObjectView tests = view_.object("slab_tests");
    const std::string path = key_path(path_, "slab_tests");
    put(tests, path, kFromWalls, plan.slab_places.from_walls);
    put(tests, path, kFromItems, plan.slab_places.from_items);
    put(tests, path, kApart, plan.slab_places.apart);
    const auto at = tests.text("wettest_at");
    const auto because = tests.text("wettest_because");
    if (at.has_value() != because.has_value()) {
      refuse(tests, path, at ? "wettest_at" : "wettest_because",
             "wettest_at and wettest_because belong together: where, and why there");
      return;
    }
    if (!at) {
      return;
    }
    const auto point =
        point_in(*at, tests.line_of("wettest_at"), key_path(path, "wettest_at"), "place");
    if (point && !findings_.has_errors() && !analysis::plan::contains(plan.request.room, *point)) {
      refuse(tests, path, "wettest_at", in_quotes(*at) + " does not lie in the room");
    } else if (point) {
      plan.wettest = analysis::plan::WettestPlace{*point, *because};
    }
  }

  const ObjectView& view_;
  std::string path_;
  Findings& findings_;
};

}  // namespace

std::optional<JobPlan> plan_from(const ObjectView& view, const std::string& path,
                                 Findings& findings) {
  if (!view.present()) {
    return std::nullopt;
  }
  return PlanReader(view, path, findings).read();
}

}  // namespace logger::app
