#include "analysis/plan/sheet/plan_drawing.hpp"

#include <algorithm>

#include "analysis/plan/layout/cut_list.hpp"
#include "analysis/plan/room/length_text.hpp"
#include "analysis/plan/room/stretches.hpp"
#include "analysis/plan/sheet/room_frame.hpp"
#include "analysis/readiness/reason_texts.hpp"

namespace analysis::plan {
namespace {

using drawing::Canvas;
using drawing::Face;
using drawing::Point;
using drawing::Rect;
using drawing::TextStyle;

constexpr double kLeastType = 3.6;  // points; smaller is left out

std::string length_label(double metres, bool imperial) {
  if (imperial) {
    return imperial_text_from(Metres{metres});  // as the cut list has it
  }
  return readiness::text_from_number(metres * 100.0);
}

class PlanDrawing {
 public:
  PlanDrawing(Canvas& canvas, Point top_left, const PlanSheet& sheet)
      : canvas_(canvas),
        sheet_(sheet),
        frame_(canvas, top_left,
               {sheet.plan.room, sheet.request.doors, sheet.scale, sheet.imperial}) {}

  void draw() {
    frame_.fill_room(drawing::kWash);
    for (const FloorPart& part : sheet_.plan.parts) {
      for (const Row& row : part.layout.rows) {
        draw_row(row);
      }
    }
    draw_joints();
    frame_.clear_outside();
    for (std::size_t i = 0; i < sheet_.plan.parts.size(); ++i) {
      number_rows(i);
    }
    frame_.draw_walls();
    frame_.draw_pipes(sheet_.plan.pipes);
    frame_.draw_scale_bar();
    if (sheet_.request.light_degrees) {
      frame_.draw_arrow(*sheet_.request.light_degrees + sheet_.plan.turned_degrees,
                        "direction of the main light");
    }
  }

 private:
  void draw_row(const Row& row) {
    for (const auto& run : row.runs) {
      for (const Piece& piece : run) {
        draw_piece(row, piece);
      }
    }
  }

  // Whole panels are plain; what is cut is shaded and says its length and panel where that fits,
  // and what it is ripped to.
  void draw_piece(const Row& row, const Piece& piece) {
    const Bounds box{piece.low_x_m, piece.high_x_m, row.low_y_m, row.high_y_m};
    const Rect rect = frame_.rect_of(box);
    const PieceShape shape = shape_of(sheet_.plan.floor, row, piece);
    const bool plain = piece.whole && !shape.is_worked();
    canvas_.fill_rect(rect, plain ? drawing::kPaper : drawing::kRule);
    canvas_.stroke_rect(rect, {drawing::kInk, 0.5});
    const TextStyle style{std::min(7.0, rect.height * 0.75)};
    if (plain || style.size < kLeastType) {
      return;
    }
    const Stretch clear = clear_of_pipes(clear_of_walls(box), box);
    const PlanPoint middle{(clear.low_x_m + clear.high_x_m) / 2.0,
                           (box.low_y_m + box.high_y_m) / 2.0};
    const double most = (clear.high_x_m - clear.low_x_m) * rect.width / piece.length_m() - 2.0;
    for (const std::string& label : labels_of(piece, shape)) {
      if (canvas_.measure(label, style, drawing::kNoWrap).width < most) {
        frame_.label(middle, label, style, most);
        return;
      }
    }
  }

  // The most telling first.
  [[nodiscard]] std::vector<std::string> labels_of(const Piece& piece,
                                                   const PieceShape& shape) const {
    const std::string length = length_label(piece.length_m(), sheet_.imperial);
    const std::string with_panel = length + "  #" + std::to_string(piece.panel);
    const std::string work = shape.is_ripped()
                                 ? "rip " + length_label(shape.width.value(), sheet_.imperial)
                             : shape.notches.empty() ? ""
                                                     : "notch";
    if (work.empty()) {
      return {with_panel, length};
    }
    return piece.whole ? std::vector{work}
                       : std::vector{with_panel + "  " + work, length + "  " + work, length};
  }

  // What of the piece a slanted wall leaves over the height of its label.
  [[nodiscard]] Stretch clear_of_walls(const Bounds& box) const {
    constexpr double kThin = 1e-4;
    Stretch clear{box.low_x_m, box.high_x_m};
    for (const double share : {0.2, 0.8}) {
      const double y = box.low_y_m + share * (box.high_y_m - box.low_y_m);
      const auto here = stretches_between(sheet_.plan.room, y, y + kThin, box);
      if (here.empty()) {
        return {box.low_x_m, box.low_x_m};
      }
      clear.low_x_m = std::max(clear.low_x_m, here.front().low_x_m);
      clear.high_x_m = std::min(clear.high_x_m, here.front().high_x_m);
    }
    return clear;
  }

  // Black between two parts: as wide as both their gaps.
  void draw_joints() {
    for (const FloorJoint& joint : sheet_.plan.joint_lines) {
      for (const Bounds& strip : joint.strips) {
        fill_black(strip);
      }
    }
  }
  void fill_black(const Bounds& joint) {
    Rect rect = frame_.rect_of(joint);
    rect.width = std::max(rect.width, 1.4);
    rect.height = std::max(rect.height, 1.4);
    canvas_.fill_rect(rect, drawing::kInk);
  }

  // The longer side of what a pipe and its name leave of the stretch.
  [[nodiscard]] Stretch clear_of_pipes(Stretch clear, const Bounds& box) const {
    const auto& pipes = sheet_.plan.pipes;
    for (std::size_t i = 0; i < pipes.size(); ++i) {
      const Bounds pipe = frame_.pipe_bounds(pipes[i], pipe_mark(i));
      if (pipe.low_y_m >= box.high_y_m || pipe.high_y_m <= box.low_y_m ||
          pipe.low_x_m >= clear.high_x_m || pipe.high_x_m <= clear.low_x_m) {
        continue;
      }
      if (pipe.low_x_m - clear.low_x_m > clear.high_x_m - pipe.high_x_m) {
        clear.high_x_m = pipe.low_x_m;
      } else {
        clear.low_x_m = pipe.high_x_m;
      }
    }
    return clear;
  }

  // Left of each row; the first one white on black.
  void number_rows(std::size_t part) {
    const auto& rows = sheet_.plan.parts[part].layout.rows;
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const Row& row = rows[i];
      if (row.runs.empty() || row.runs.front().empty()) {
        continue;
      }
      const Piece& piece = row.runs.front().front();
      const Rect rect = frame_.rect_of({piece.low_x_m, piece.high_x_m, row.low_y_m, row.high_y_m});
      TextStyle style{std::min(6.5, rect.height * 0.8), Face::bold};
      if (style.size < kLeastType) {
        style.size = kLeastType;
        if (i % 2 == 1) {
          continue;  // every other number, where rows are too narrow on the page
        }
      }
      const std::string label = part_name(sheet_.plan, part) + std::to_string(i + 1);
      const auto extent = canvas_.measure(label, style, drawing::kNoWrap);
      const Point at{rect.x - extent.width - 4.0, rect.y + (rect.height - extent.height) / 2.0};
      canvas_.fill_rect({at.x - 1.5, at.y, extent.width + 3.0, extent.height},
                        i == 0 ? drawing::kInk : drawing::kPaper);
      style.colour = i == 0 ? drawing::kPaper : drawing::kInk;
      canvas_.text(at, label, style, drawing::kNoWrap);
    }
  }

  Canvas& canvas_;
  const PlanSheet& sheet_;
  RoomFrame frame_;
};

const char* transition_words(Transition transition) {
  return transition == Transition::same_level ? "T-moulding, floors of one height"
         : transition == Transition::to_lower ? "reducer, to a lower floor"
                                              : "edge profile, to a sill or edge";
}

}  // namespace

void draw_plan(Canvas& canvas, Point top_left, const PlanSheet& sheet) {
  PlanDrawing(canvas, top_left, sheet).draw();
}

std::vector<std::string> plan_legend(const PlanSheet& sheet) {
  const double gap_m = sheet.request.wall_gap.value();
  const auto narrow = [&](double metres) { return gap_text_from(Metres{metres}, sheet.imperial); };
  const bool along_light = sheet.request.light_degrees && !sheet.request.rows_degrees;
  const std::string first = part_name(sheet.plan, 0) + "1";
  std::vector<std::string> legend{
      "Begin with the row marked black (" + first +
          ") and lay from left to right, row on row upwards." +
          (along_light ? " Rows lie along the main light." : ""),
      "White = a whole panel. Shaded = cut: its length in " +
          std::string(sheet.imperial ? "feet and inches" : "centimetres") +
          " and the panel it is cut from, at a slanted wall of its longer side. Small figures "
          "outside number the corners. \"rip\" and \"notch\": a wall inside the row takes of the "
          "piece's width; the cut list says what.",
      "Leave " + narrow(gap_m) + " free at all walls and fixed items (hatched), with spacers."};
  if (sheet.plan.parts.size() > 1) {
    legend.push_back("Black strip = joint between two parts of the floor, " + narrow(2.0 * gap_m) +
                     " wide, under a T-moulding.");
  }
  for (std::size_t i = 0; i < sheet.plan.pipes.size(); ++i) {
    const PipeHole& hole = sheet.plan.pipes[i];
    legend.push_back(pipe_mark(i) + " = " + hole.name + ": hole of " +
                     narrow(hole.diameter.value()) + ", the gap all round in it.");
  }
  for (std::size_t i = 0; i < sheet.request.doors.size(); ++i) {
    const Door& door = sheet.request.doors[i].door;
    legend.push_back("D" + std::to_string(i + 1) + " = door, " +
                     length_text_from(door.width, sheet.imperial) +
                     " wide: " + transition_words(door.transition) + ".");
  }
  return legend;
}

base::Result<std::string, drawing::DrawError> plan_svg(const RoomPlan& plan,
                                                       const RoomPlanRequest& request,
                                                       bool imperial) {
  const PlanSheet sheet{plan, request, frame_scale_for(plan.room, drawing::kA4), imperial};
  return drawing_svg({plan.room, sheet.scale}, plan_legend(sheet), [&](Canvas& canvas) {
    draw_plan(canvas, {0.0, 0.0}, sheet);
  });
}

}  // namespace analysis::plan
