// Rows, gaps and pipes of a planned room as JSON; units in the key names.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "logger/app/plan/plan_report.hpp"

namespace logger::app {

// To a millionth: what lies below comes from adding up.
[[nodiscard]] double rounded_json(double value);
// A point of the plan, whose rows lie along x, as it is in the room that job.json describes.
[[nodiscard]] nlohmann::ordered_json point_json(analysis::plan::PlanPoint turned_point,
                                                const analysis::plan::RoomPlan& plan);
// Panels, the pieces of each row in laying order with where their rests go, rules that are broken.
// Lengths along the rows and across them from where the part begins, a point of the room.
[[nodiscard]] nlohmann::ordered_json part_json(const analysis::plan::FloorPart& part,
                                               const PlannedRoom& planned);
[[nodiscard]] nlohmann::ordered_json gaps_json(const analysis::plan::RoomPlan& plan);
[[nodiscard]] nlohmann::ordered_json pipes_json(const analysis::plan::RoomPlan& plan);

}  // namespace logger::app
