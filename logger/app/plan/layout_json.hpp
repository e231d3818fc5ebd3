// Rows, gaps and pipes of a planned room as JSON; units in the key names.
#pragma once

#include <nlohmann/json_fwd.hpp>

#include "logger/app/job/job_plan.hpp"

namespace logger::app {

// To a millionth: what lies below comes from adding up.
[[nodiscard]] double rounded_json(double value);
// Panels, the pieces of each row in laying order with where their rests go, rules that are broken.
[[nodiscard]] nlohmann::ordered_json part_json(const analysis::plan::FloorPart& part,
                                               const JobPlan& plan);
[[nodiscard]] nlohmann::ordered_json gaps_json(const analysis::plan::RoomPlan& plan);
[[nodiscard]] nlohmann::ordered_json pipes_json(const analysis::plan::RoomPlan& plan);

}  // namespace logger::app
