// What to order for a room: cartons, underlay, vapour barrier, tape, trim, transitions, spacers.
// Pure. Every quantity says how it was reckoned; figures without another source are common
// practice, and the floor's own instructions win.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/plan/layout/row_layout.hpp"
#include "analysis/plan/room/outline.hpp"

namespace analysis::plan {

struct PackSize {
  int panels = 0;         // in a carton
  SquareMetres coverage;  // of a carton
};
// Cartons for several rooms are rounded up once, over all of them.
struct CartonNeed {
  SquareMetres floor;
  SquareMetres with_waste;                // each room with its own share, by the rule of thumb
  int cartons_by_rule = 0;                // for `with_waste`
  int panels_by_layout = 0;               // what the rows really use
  double waste_by_layout_fraction = 0.0;  // of the floor
  int cartons_by_layout = 0;
  int cartons_to_order = 0;  // the greater of both, less what came already; never negative
  int delivered = 0;
  int over = 0;  // of what came already, more than the greater of both; never negative
};
// Common practice, no source: 10 % waste in rooms of straight rows.
struct RoomPanels {
  SquareMetres floor;
  int panels = 0;
  double waste_rule_fraction = 0.10;
};
// REQUIRES: a pack with panels and coverage above 0; delivered >= 0.
[[nodiscard]] CartonNeed carton_need_from(const std::vector<RoomPanels>& rooms,
                                          const PackSize& pack, int delivered);

// A roll, cut into strips that lie beside each other.
struct RollSize {
  Metres width;
  Metres length;
};
enum class SheetLay { along_panels, across_panels, along_walls };
struct SheetNeed {
  // Along x, the turned-up part included; in a frame of their own where they lie along the walls.
  std::vector<Bounds> strips;
  SheetLay lay = SheetLay::along_panels;
  Metres seams;        // to be taped
  SquareMetres sheet;  // of all strips, laps and upturns included
  int rolls = 0;
  std::vector<Metres> cut_lengths;  // of the strips, end laps included
};

// Underlay: strips along the panels, butted, cut at the walls; the rest of a roll begins the next
// strip, butted too. The first strip begins a roll.
[[nodiscard]] SheetNeed underlay_need_from(const Region& region, const RollSize& roll);
// Seams where a roll ends within a strip of an underlay, when `laid` went before out of the same
// rolls.
[[nodiscard]] Metres roll_end_seams_of(const SheetNeed& underlay, Metres roll_length, Metres laid);

// Common practice, no source: seams lapped 45 cm, edges turned 5 cm up the walls.
struct BarrierRules {
  Metres lap{0.45};
  Metres upturn{0.05};
};
// Sheets along or across the panels or the longest wall, whichever needs less sheet, then fewer
// seams. Where a roll is shorter than the room its ends lap too. Error: a roll no wider or longer
// than its lap.
[[nodiscard]] base::Result<SheetNeed, std::string> barrier_need_from(const Region& region,
                                                                     const RollSize& roll,
                                                                     const BarrierRules& rules);

enum class Transition { same_level, to_lower, to_edge };
// From how far the adjoining floor lies above this finished one (below = negative). Our assumption:
// one level within 3 mm; lower = a reducer; higher, as a sill, = an edge profile against it.
[[nodiscard]] Transition transition_from_step(Metres adjoining_above);
struct Door {
  Metres width;
  Transition transition = Transition::same_level;
};
inline constexpr double kMitreShare = 1.10;  // of the wall trim; common practice, no source
inline constexpr Metres kSpacerStep{0.4};    // along the walls; common practice, no source
// Whole things of a count that is reckoned: 10.0000000001 are ten.
[[nodiscard]] int rounded_up(double count);

struct TrimNeed {
  Metres wall;           // perimeter without doors, fixed items with theirs
  int wall_lengths = 0;  // bars, waste included
  Metres t_moulding;     // between floors of the same height, with a track each
  Metres reducer;        // to a lower floor
  Metres edge;           // to a door sill or a fixed edge
  int spacers = 0;
};
// Bars of `bar` length.
[[nodiscard]] TrimNeed trim_need_from(const Region& region, const std::vector<Door>& doors,
                                      Metres bar);

}  // namespace analysis::plan
