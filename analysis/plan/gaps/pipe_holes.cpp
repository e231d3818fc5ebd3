#include "analysis/plan/gaps/pipe_holes.hpp"

#include "analysis/plan/room/length_text.hpp"

namespace analysis::plan {

PipeHole hole_from(const PipePlace& pipe, const RowLayout& layout, Metres gap) {
  PipeHole hole;
  hole.name = pipe.name;
  hole.centre = pipe.centre;
  hole.diameter = Metres{pipe.diameter.value() + 2.0 * gap.value()};
  for (std::size_t i = 0; i < layout.rows.size(); ++i) {
    const Row& row = layout.rows[i];
    if (pipe.centre.y_m < row.low_y_m || pipe.centre.y_m >= row.high_y_m) {
      continue;
    }
    for (const auto& run : row.runs) {
      for (const Piece& piece : run) {
        if (pipe.centre.x_m >= piece.low_x_m && pipe.centre.x_m < piece.high_x_m) {
          hole.row = static_cast<int>(i) + 1;
          hole.panel = piece.panel;
          hole.from_end = Metres{pipe.centre.x_m - piece.low_x_m};
          hole.from_edge = Metres{pipe.centre.y_m - row.low_y_m};
        }
      }
    }
  }
  return hole;
}

Remark remark_of(const PipeHole& hole) {
  return remark_from([&](bool imperial) {
    const auto length = [&](Metres metres) { return sawn_text_from(metres, imperial); };
    const std::string text =
        hole.name + ": a hole of " + length(hole.diameter) + ", the pipe with its gap all round";
    if (hole.row == 0) {
      return text + "; it lies in the gap at the wall, outside of the rows";
    }
    return text + ", in row " + std::to_string(hole.row) + ", panel " + std::to_string(hole.panel) +
           ", " + length(hole.from_end) + " from its left end and " + length(hole.from_edge) +
           " from its edge at the row before";
  });
}

}  // namespace analysis::plan
