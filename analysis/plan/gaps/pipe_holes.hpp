// Holes for pipes through a floor: how wide, and where on which piece. Pure.
#pragma once

#include <string>

#include "analysis/plan/layout/row_layout.hpp"
#include "analysis/plan/room/remark.hpp"

namespace analysis::plan {

// A round pipe through the floor, in the room as measured.
struct PipePlace {
  std::string name;
  PlanPoint centre;
  Metres diameter;
};

struct PipeHole {
  std::string name;
  PlanPoint centre;  // in the turned plan
  Metres diameter;   // of the hole: the pipe and a gap all round
  int row = 0;       // from 1; 0 = no row lies there
  int panel = 0;     // the piece is cut from it
  Metres from_end;   // from the left end of that piece
  Metres from_edge;  // from its edge at the row before
};

// In the part whose field holds the centre. REQUIRES: `pipe.centre` in the turned plan.
[[nodiscard]] PipeHole hole_from(const PipePlace& pipe, const RowLayout& layout, Metres gap);

[[nodiscard]] Remark remark_of(const PipeHole& hole);

}  // namespace analysis::plan
