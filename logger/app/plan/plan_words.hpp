// What the plan says of a room and of the order, in words: the same in the terminal and in the job
// pack. Pure.
#pragma once

#include <string>
#include <vector>

#include "logger/app/plan/plan_report.hpp"

namespace logger::app {

struct PlanWords {
  std::string label;  // of at most ten characters
  std::string text;
};

// Rows, what to mind, sheets, trim and profiles.
[[nodiscard]] std::vector<PlanWords> laying_words(const PlannedRoom& planned, bool imperial);
// How and when to bring the cartons, up to two other ways, or why there is none.
[[nodiscard]] std::vector<PlanWords> stacking_words(const PlannedRoom& planned, bool imperial);

// Where, how deep and when the slab is tested; none where there is no slab.
[[nodiscard]] std::vector<PlanWords> slab_test_words(const PlannedRoom& planned, bool imperial);

// Panels over the room's area from wall to wall, less 1.
[[nodiscard]] double panel_waste_fraction(const PlannedRoom& planned);

[[nodiscard]] std::string plan_length_text(analysis::base::Metres metres, bool imperial);
[[nodiscard]] std::string plan_area_text(analysis::base::SquareMetres area, bool imperial);

}  // namespace logger::app
