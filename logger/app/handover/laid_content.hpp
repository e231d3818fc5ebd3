// The record of a laying that ended: from the options of a note, to and from the note's content,
// and how it compares with the room's plan.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "analysis/readiness/service/laid_floor.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/job/job.hpp"
#include "logger/app/outlook/texts/shown_values.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

// invalid_input, one line: a length that is none, a gap beyond 0..0.5 m, a row of 0 m or above 1 m,
// counts beyond 0..10000 (rows: 1..10000), texts that are too long, a wall that the room's plan
// does not have or that is named twice.
[[nodiscard]] store::Result<analysis::readiness::LaidFloor> laid_floor_from(
    const NoteOptions& options, const JobRoom& room);

// Members that say nothing are left out, so that a bare note stays as it was: "gaps" [{"wall",
// "gap_mm"}], "joints" [{"place", "kind"}], "rows", "first_row_mm", "cartons_used", "cartons_left".
void add_laid_floor(nlohmann::json& content, const analysis::readiness::LaidFloor& laid);
// What can't be read is absent.
[[nodiscard]] analysis::readiness::LaidFloor laid_floor_from_content(const nlohmann::json& content);

// nullopt without a plan, or where it can't be made: `dwellog check` says why. Cost: rows are laid
// out anew.
[[nodiscard]] std::optional<analysis::plan::RoomPlan> room_plan_of(const JobRoom& room);
[[nodiscard]] analysis::readiness::PlannedFloor planned_floor_from(
    const analysis::plan::RoomPlanRequest& request, const analysis::plan::RoomPlan& plan);
// Against the room's plan, in millimetres; empty without one.
[[nodiscard]] std::vector<std::string> laid_findings(const analysis::readiness::LaidFloor& laid,
                                                     const JobRoom& room);

// A gap as it is told: "8.0 mm", or inches to the nearest sixteenth.
[[nodiscard]] std::string told_gap(analysis::base::Metres gap, ShownUnits units);
[[nodiscard]] analysis::readiness::LengthWords length_words_in(ShownUnits units);
// "gap at wall 1-2 8.0 mm; gap elsewhere 10.0 mm; joint: door (T-moulding); 25 rows": for lists;
// empty where nothing is noted.
[[nodiscard]] std::string text_from_laid_floor(const analysis::readiness::LaidFloor& laid,
                                               bool imperial);

}  // namespace logger::app
