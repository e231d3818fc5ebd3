// What to cut for each row, in the order of laying: length and width of every piece, the panel it
// comes from, which end of it is kept, and where the rest of that panel goes. Pure.
//
// A sawn end lies at a wall, since it has no click profile: a rest with its right end as it came
// begins a row, one with its left end as it came ends a row.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/plan/layout/piece_shape.hpp"
#include "analysis/plan/layout/row_layout.hpp"

namespace analysis::plan {

enum class PieceOrigin : std::uint8_t {
  whole_panel,  // nothing cut off its length
  new_panel,    // the first piece cut from it
  rest,         // cut from what an earlier piece left over
};
enum class PiecePlace : std::uint8_t {
  begins,  // its left end is sawn, at a wall
  inside,
  ends,           // its right end is sawn, at a wall
  between_walls,  // the only piece of its run
};
// Where the rest of the panel goes once the piece is cut.
struct RestUse {
  Metres length;       // of the rest; zero = nothing worth naming
  int row = 0;         // from 1; 0 = waste
  PiecePlace place{};  // what it does there; not looked at for waste
  [[nodiscard]] bool is_waste() const { return row == 0; }
};
struct CutPiece {
  Metres length;
  int panel = 0;  // from 1, as in RowLayout
  PieceOrigin origin{};
  PiecePlace place{};
  RestUse rest;  // of a piece that is cut; not looked at for whole panels
  PieceShape shape;
};
struct CutRow {
  int row = 0;  // from 1
  Metres width;
  bool ripped = false;  // narrower than a panel
  // By increasing x; more than one where the room is divided.
  std::vector<std::vector<CutPiece>> runs;
};

// What a layout was made for. References outlive the call.
struct CutSource {
  const Region& floor;  // within its gaps, rows along x
  const PanelSize& panel;
  const LayoutRules& rules;
};
// One entry for each row. REQUIRES: `layout` was made for `source`.
[[nodiscard]] std::vector<CutRow> cut_list_from(const RowLayout& layout, const CutSource& source);

// The pieces of a row in words, runs parted by " | ": "62.4 cm of panel 1 (rest 65.3 cm ends row
// 3), 3 whole, 18.0 cm, rest of panel 5". Lengths in cm, or in inches to a sixteenth.
[[nodiscard]] std::string pieces_text_from(const CutRow& row, bool imperial);

// What the row is ripped to, and what walls inside it take of single pieces, counted from the left:
// "17.2 cm; piece 3: ripped to 12.3 cm (6.7 cm off at the next row)";
// kFullWidth for neither.
inline constexpr const char* kFullWidth = "full width";
[[nodiscard]] std::string rip_text_from(const CutRow& row, bool imperial);

}  // namespace analysis::plan
