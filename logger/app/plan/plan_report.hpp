// What `dwellog plan` says, as data: the plan of each room, what to order over all of them, how to
// stack the cartons. From job.json alone.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/plan/room_plan.hpp"
#include "analysis/plan/stacking/stack_places.hpp"
#include "analysis/plan/takeoff/order_list.hpp"
#include "analysis/plan/takeoff/shared_doorways.hpp"
#include "logger/app/job/job.hpp"
#include "logger/app/plan/slab_tests_plan.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

struct PlannedRoom {
  const JobRoom* room = nullptr;
  analysis::plan::RoomPlan plan;
  analysis::plan::ServiceClimate climate;  // the gaps were checked with it
  int cartons = 0;                         // of its own, by the greater of both ways
  // Those that the room has places for, best first; empty = not to be said.
  std::vector<analysis::plan::Stacking> stackings;
  std::vector<analysis::plan::PlacedStack> places;  // of the first stacking, in the plan's frame
  std::vector<analysis::plan::Outline> kept_clear;  // door swings and heaters, likewise
  std::string no_stacking_because;
  std::vector<analysis::plan::DoorCountedElsewhere> doors_elsewhere;
  std::optional<UtcMicros> deliver_by;  // where job.json says when the floor is laid
  std::optional<SlabTestsPlan> slab_tests = std::nullopt;  // nullopt = no slab below
};
struct PlanReport {
  std::string job_name;
  std::vector<PlannedRoom> rooms;  // those with a plan
  std::vector<std::string> rooms_without_plan;
  // What job.json says of plans that may be a slip, one line each.
  std::vector<std::string> worth_a_look;
};

struct PlanQuestion {
  std::string room;  // empty = every room with a plan
  analysis::base::Celsius cartons_come_at{5.0};
};
// REQUIRES: `job` outlives the report. Errors: invalid_input: no such room, no room with a
// plan, or one that can't be planned.
[[nodiscard]] store::Result<PlanReport> plan_report_from(const Job& job,
                                                         const PlanQuestion& question);

// What to order over all rooms of the report, which the job outlives.
[[nodiscard]] analysis::plan::OrderList order_from_plan(const PlanReport& report, bool imperial);

[[nodiscard]] std::string text_from_plan(const PlanReport& report, bool imperial);
// Units in the key names; one object, trailing line end. Format "dwellog-plan/1".
[[nodiscard]] std::string json_from_plan(const PlanReport& report);

}  // namespace logger::app
