// What the drawings of a room share: where metres go on the page, walls with their lengths and
// corner numbers, doors, fixed items, a scale bar. Internal to this folder.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "analysis/drawing/canvas.hpp"
#include "analysis/plan/room_plan.hpp"

namespace analysis::plan {

inline constexpr double kFrameMargin = 48.0;  // points round the room, for lengths and marks
inline constexpr double kScaleBarHeight = 34.0;

// The largest scale of 1:10 to 1:500 at which the room with its margins fits; for the largest
// denominator it may not.
[[nodiscard]] int frame_scale_for(const Region& room, drawing::Size space);
// Of the room with its margins and scale bar.
[[nodiscard]] drawing::Size frame_size(const Region& room, int scale);

// A drawing of its own, as SVG: `draw` with its top left corner at 0; 0, below it the legend.
struct SvgSubject {
  const Region& room;
  int scale = 50;
};
[[nodiscard]] base::Result<std::string, drawing::DrawError> drawing_svg(
    const SvgSubject& subject, const std::vector<std::string>& legend,
    const std::function<void(drawing::Canvas&)>& draw);

// "P1", "P2" ... of a plan's pipes, by their place from 0; drawing and legend call them so.
[[nodiscard]] std::string pipe_mark(std::size_t pipe);

struct FrameSubject {
  const Region& room;  // turned: rows along x
  const std::vector<DoorPlace>& doors;
  int scale = 50;  // 50 = 1:50
  bool imperial = false;
};

// Draws with its top left corner at `top_left`, in frame_size. References outlive the frame.
class RoomFrame {
 public:
  RoomFrame(drawing::Canvas& canvas, drawing::Point top_left, const FrameSubject& subject);

  [[nodiscard]] drawing::Point at(PlanPoint point) const;
  [[nodiscard]] drawing::Rect rect_of(const Bounds& box) const;
  [[nodiscard]] std::vector<drawing::Point> corners_of(const Outline& outline) const;

  // One text centred on a point of the room; nothing where it is wider than `most` points.
  void label(PlanPoint middle, const std::string& text, const drawing::TextStyle& style,
             double most) const;

  void fill_room(drawing::Colour colour) const;
  // Paper over all that was drawn beyond the walls.
  void clear_outside() const;
  // Walls, their lengths and corner numbers, doors ("D1" ...), fixed items.
  void draw_walls() const;
  // Holes with their marks beside them.
  void draw_pipes(const std::vector<PipeHole>& pipes) const;
  // What draw_pipes takes of the room for the pipe with this mark.
  [[nodiscard]] Bounds pipe_bounds(const PipeHole& pipe, const std::string& mark) const;
  // A bar of 1 m (3 ft) and the scale, below the room.
  void draw_scale_bar() const;
  // Under the scale bar: an arrow that points `degrees` anticlockwise from the right, and what it
  // is.
  void draw_arrow(double degrees, const std::string& what) const;

 private:
  [[nodiscard]] double pipe_radius(const PipeHole& pipe) const;
  void draw_pipe(const PipeHole& pipe, const std::string& mark) const;
  void draw_wall_marks(std::size_t wall) const;
  void draw_door(std::size_t door) const;

  drawing::Canvas& canvas_;
  const FrameSubject subject_;
  double per_metre_;
  Bounds bounds_;
  double left_;
  double base_;
};

}  // namespace analysis::plan
