// What walls inside a row take of a piece's width: ripped along its whole length, notched over part
// of it, or cut at a slant. Pure.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/plan/layout/row_layout.hpp"

namespace analysis::plan {

enum class NotchSide : std::uint8_t { row_before, next_row, inside };
// A rectangle that comes off a piece.
struct PieceNotch {
  Metres from;  // from the piece's left end
  Metres to;
  Metres low;  // from the edge of the ripped piece at the row before
  Metres high;
  NotchSide side{};
  [[nodiscard]] Metres deep() const { return Metres{high.value() - low.value()}; }
};
struct PieceShape {
  Metres width;          // that is left where it is widest: what it is ripped to
  Metres off_at_before;  // ripped off along its whole length at the row before, of the row's width
  Metres off_at_next;    // likewise at the next row
  std::vector<PieceNotch> notches;  // of what is left, by place
  // A wall that lies neither along nor across the rows cuts it: the notches are not all that comes
  // off. What is left along both edges; not looked at otherwise.
  bool slanted = false;
  Metres along_before;
  Metres along_next;
  // Whether a wall takes of its width.
  [[nodiscard]] bool is_ripped() const {
    return off_at_before.value() > 0.0 || off_at_next.value() > 0.0;
  }
  [[nodiscard]] bool is_worked() const { return is_ripped() || !notches.empty() || slanted; }
};

// Less than 1 mm is not ripped off. REQUIRES: a piece of `row` in a layout made for `floor`, whose
// rows lie along x.
[[nodiscard]] PieceShape shape_of(const Region& floor, const Row& row, const Piece& piece);

// "ripped to 12.3 cm (6.7 cm off at the next row)", "notched at the row before, 7.0 cm deep from
// 48.2 cm to 61.0 cm", several joined by ", "; empty where walls take nothing.
[[nodiscard]] std::string text_from(const PieceShape& shape, bool imperial);

}  // namespace analysis::plan
