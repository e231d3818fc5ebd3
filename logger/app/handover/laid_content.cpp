#include "logger/app/handover/laid_content.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <string_view>

#include "analysis/plan/room/length_text.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using analysis::base::Metres;
using analysis::readiness::LaidFloor;
using analysis::readiness::LaidGap;
using analysis::readiness::LaidJoint;
using analysis::readiness::PlannedFloor;
using nlohmann::json;
using store::ErrorCode;
using store::failure;
using store::Result;
using store::text_in;

namespace {

constexpr Metres kWidestGap{0.5};
constexpr Metres kWidestRow{1.0};
constexpr int kMostCounted = 10000;
constexpr std::size_t kLongestPlace = 100;  // bytes
constexpr double kLaidMillimetres = 1000.0;

struct LengthLimits {
  Metres most;
  bool none = false;  // nothing at all is a length too
};

// `option` as it is told, with `text` in it that passed check_text.
Result<Metres> length_of(const std::string& option, std::string_view text, LengthLimits limits) {
  const auto length = analysis::plan::length_from_text(text);
  if (!length) {
    return failure(ErrorCode::invalid_input, option + ": " + length.error());
  }
  const double metres = length.value().value();
  if (metres < 0.0 || (metres == 0.0 && !limits.none) || length.value() > limits.most) {
    const bool has_unit = text.find_first_not_of("0123456789. ") != std::string_view::npos;
    return failure(ErrorCode::invalid_input,
                   option + ": " + analysis::plan::metric_text_from(length.value()) +
                       (has_unit ? "" : ", since no unit is given") + "; expected " +
                       (limits.none ? "0 m to " : "more than 0 m, up to ") +
                       analysis::plan::metric_text_from(limits.most) +
                       (has_unit ? "" : ", for example " + std::string(text) + " mm"));
  }
  return length.value();
}

std::string without_blanks(std::string_view text) {
  const auto first = text.find_first_not_of(' ');
  const auto last = text.find_last_not_of(' ');
  return first == std::string_view::npos ? std::string()
                                         : std::string(text.substr(first, last - first + 1));
}

Result<void> check_wall(const std::string& option, const std::string& wall, const JobRoom& room) {
  const auto corners = analysis::readiness::corners_of(wall);
  if (!corners || !room.plan) {
    return {};
  }
  const std::size_t count = room.plan->request.room.outer.size();
  const auto [from, to] = *corners;
  const bool adjoin = from >= 1 && from <= count && to == from % count + 1;
  if (adjoin) {
    return {};
  }
  return failure(ErrorCode::invalid_input, option + ": the plan has no wall " + wall +
                                               "; expected 1-2 to " + std::to_string(count) + "-1");
}

Result<LaidGap> gap_from(const std::string& text, const JobRoom& room) {
  if (const auto checked = check_text("--gap", text, 1, 2 * kLongestPlace); !checked) {
    return store::Failure{checked.error()};
  }
  const std::string option = "--gap " + text;
  const std::size_t mark = text.rfind('=');
  const auto gap = length_of(option, mark == std::string::npos ? text : text.substr(mark + 1),
                             {kWidestGap, true});
  if (!gap) {
    return store::Failure{gap.error()};
  }
  LaidGap left{{}, gap.value()};
  if (mark != std::string::npos) {
    left.wall = without_blanks(text.substr(0, mark));
    for (const auto& checked : {check_text("--gap (its wall)", left.wall, 1, kLongestPlace),
                                check_wall(option, left.wall, room)}) {
      if (!checked) {
        return store::Failure{checked.error()};
      }
    }
  }
  return left;
}

Result<LaidJoint> joint_from(const std::string& text) {
  const std::size_t mark = text.find(':');
  LaidJoint joint{
      without_blanks(text.substr(0, mark)),
      mark == std::string::npos ? std::string() : without_blanks(text.substr(mark + 1))};
  for (const auto& checked : {check_text("--joint (its place)", joint.place, 1, kLongestPlace),
                              check_text("--joint (its kind)", joint.kind, 0, kLongestPlace)}) {
    if (!checked) {
      return store::Failure{checked.error()};
    }
  }
  return joint;
}

Result<void> check_count(const char* option, const std::optional<int>& count, int least) {
  if (!count || (*count >= least && *count <= kMostCounted)) {
    return {};
  }
  return failure(ErrorCode::invalid_input, std::string(option) + " " + std::to_string(*count) +
                                               "; expected " + std::to_string(least) + " to " +
                                               std::to_string(kMostCounted));
}

template <class T>
std::optional<T> number_in(const json& content, const char* key) {
  const auto found = content.find(key);
  return found != content.end() && found->is_number() ? std::optional(found->template get<T>())
                                                      : std::nullopt;
}

void add_part(std::string& text, const std::string& part) {
  text += (text.empty() ? "" : "; ") + part;
}

}  // namespace

Result<LaidFloor> laid_floor_from(const NoteOptions& options, const JobRoom& room) {
  LaidFloor laid;
  for (const std::string& text : options.gaps) {
    auto gap = gap_from(text, room);
    if (!gap) {
      return store::Failure{gap.error()};
    }
    const std::string& wall = gap.value().wall;
    if (std::ranges::find(laid.gaps, wall, &LaidGap::wall) != laid.gaps.end()) {
      return failure(ErrorCode::invalid_input,
                     "--gap " + text + ": the gap at " +
                         (wall.empty() ? "every wall" : place_text(gap.value())) +
                         " is given twice; expected one for each wall");
    }
    laid.gaps.push_back(std::move(gap).value());
  }
  put_elsewhere_last(laid.gaps);
  for (const std::string& text : options.joints) {
    auto joint = joint_from(text);
    if (!joint) {
      return store::Failure{joint.error()};
    }
    laid.joints.push_back(std::move(joint).value());
  }
  if (!options.first_row.empty()) {
    if (const auto checked = check_text("--first-row", options.first_row, 1, kLongestPlace);
        !checked) {
      return store::Failure{checked.error()};
    }
    const auto width =
        length_of("--first-row " + options.first_row, options.first_row, {kWidestRow, false});
    if (!width) {
      return store::Failure{width.error()};
    }
    laid.first_row = width.value();
  }
  for (const auto& checked : {check_count("--rows", options.rows_laid, 1),
                              check_count("--cartons-used", options.cartons_used, 0),
                              check_count("--cartons-left", options.cartons_left, 0)}) {
    if (!checked) {
      return store::Failure{checked.error()};
    }
  }
  laid.rows = options.rows_laid;
  laid.cartons_used = options.cartons_used;
  laid.cartons_left = options.cartons_left;
  return laid;
}

void add_laid_floor(json& content, const LaidFloor& laid) {
  for (const LaidGap& left : laid.gaps) {
    content["gaps"].push_back(
        {{"wall", left.wall}, {"gap_mm", left.gap.value() * kLaidMillimetres}});
  }
  for (const LaidJoint& joint : laid.joints) {
    content["joints"].push_back({{"place", joint.place}, {"kind", joint.kind}});
  }
  if (laid.first_row) {
    content["first_row_mm"] = laid.first_row->value() * kLaidMillimetres;
  }
  const auto put = [&content](const char* key, const std::optional<int>& count) {
    if (count) {
      content[key] = *count;
    }
  };
  put("rows", laid.rows);
  put("cartons_used", laid.cartons_used);
  put("cartons_left", laid.cartons_left);
}

LaidFloor laid_floor_from_content(const json& content) {
  LaidFloor laid;
  for (const json& left : content.value("gaps", json::array())) {
    if (const auto gap = number_in<double>(left, "gap_mm")) {
      laid.gaps.push_back({text_in(left, "wall"), Metres{*gap / kLaidMillimetres}});
    }
  }
  put_elsewhere_last(laid.gaps);
  for (const json& joint : content.value("joints", json::array())) {
    laid.joints.push_back({text_in(joint, "place"), text_in(joint, "kind")});
  }
  if (const auto width = number_in<double>(content, "first_row_mm")) {
    laid.first_row = Metres{*width / kLaidMillimetres};
  }
  laid.rows = number_in<int>(content, "rows");
  laid.cartons_used = number_in<int>(content, "cartons_used");
  laid.cartons_left = number_in<int>(content, "cartons_left");
  return laid;
}

std::optional<analysis::plan::RoomPlan> room_plan_of(const JobRoom& room) {
  if (!room.plan) {
    return std::nullopt;
  }
  auto plan = analysis::plan::room_plan_from(room.plan->request);
  return plan ? std::optional(std::move(plan).value()) : std::nullopt;
}

PlannedFloor planned_floor_from(const analysis::plan::RoomPlanRequest& request,
                                const analysis::plan::RoomPlan& plan) {
  PlannedFloor planned;
  planned.wall_gap = request.wall_gap;
  planned.joints = plan.joint_lines.size();
  for (const analysis::plan::FloorPart& part : plan.parts) {
    planned.rows += part.column == 0 ? part.layout.rows.size() : 0;
  }
  if (!plan.parts.empty()) {
    const auto& first = plan.parts.front().layout.rows.front();
    planned.first_row = Metres{first.high_y_m - first.low_y_m};
  }
  for (const analysis::plan::DoorPlace& door : request.doors) {
    planned.joints += door.joint || !door.adjoins.empty() ? 1U : 0U;
  }
  return planned;
}

std::vector<std::string> laid_findings(const LaidFloor& laid, const JobRoom& room) {
  const auto plan = room_plan_of(room);
  return plan ? findings_from(laid, planned_floor_from(room.plan->request, *plan),
                              length_words_in({}))
              : std::vector<std::string>();
}

std::string told_gap(Metres gap, ShownUnits units) {
  return units.imperial ? analysis::plan::imperial_text_from(gap) : short_length(gap, units);
}

analysis::readiness::LengthWords length_words_in(ShownUnits units) {
  return {[units](Metres length) { return told_gap(length, units); },
          [units](Metres least) {
            return units.imperial ? analysis::plan::gap_text_from(least, true)
                                  : short_length(least, units);
          }};
}

std::string text_from_laid_floor(const LaidFloor& laid, bool imperial) {
  const ShownUnits units{imperial};
  std::string text;
  for (const LaidGap& left : laid.gaps) {
    const std::string where = !left.wall.empty()     ? "gap at " + place_text(left)
                              : laid.gaps.size() > 1 ? "gap elsewhere"
                                                     : "gap";
    add_part(text, where + " " + told_gap(left.gap, units));
  }
  for (const LaidJoint& joint : laid.joints) {
    add_part(text, "joint: " + joint.place + (joint.kind.empty() ? "" : " (" + joint.kind + ")"));
  }
  if (laid.rows) {
    add_part(text, std::to_string(*laid.rows) + (*laid.rows == 1 ? " row" : " rows"));
  }
  if (laid.first_row) {
    add_part(text, "first row " + told_gap(*laid.first_row, units));
  }
  if (laid.cartons_used) {
    add_part(text, std::to_string(*laid.cartons_used) + " cartons used");
  }
  if (laid.cartons_left) {
    add_part(text, std::to_string(*laid.cartons_left) + " left over");
  }
  return text;
}

}  // namespace logger::app
