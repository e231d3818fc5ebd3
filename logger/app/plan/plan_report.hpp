// What `dwellog plan` says, as data: the plan of each room, what to order over all of them, how to
// stack the cartons. From job.json alone.
#pragma once

#include <string>
#include <vector>

#include "analysis/plan/room_plan.hpp"
#include "analysis/plan/stacking/stacking_plan.hpp"
#include "logger/app/job/job.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

struct PlannedRoom {
  const JobRoom* room = nullptr;
  analysis::plan::RoomPlan plan;
  int cartons = 0;                                  // of its own, by the greater of both ways
  std::vector<analysis::plan::Stacking> stackings;  // best first; empty = not to be said
  std::string no_stacking_because;
};
// Rooms whose panels come in the same packs.
struct Order {
  std::vector<std::string> rooms;
  std::string product;
  analysis::plan::PackSize pack;
  analysis::plan::CartonNeed need;
};
struct PlanReport {
  std::string job_name;
  std::vector<PlannedRoom> rooms;  // those with a plan
  std::vector<std::string> rooms_without_plan;
  std::vector<Order> orders;
};

struct PlanQuestion {
  std::string room;  // empty = every room with a plan
  analysis::base::Celsius cartons_come_at{5.0};
};
// REQUIRES: `job` outlives the report. Errors: not_found (no such room), invalid_input (no room
// with a plan, or one that can't be planned).
[[nodiscard]] store::Result<PlanReport> plan_report_from(const Job& job,
                                                         const PlanQuestion& question);

[[nodiscard]] std::string text_from_plan(const PlanReport& report, bool imperial);
// Units in the key names; one object, trailing line end. Format "dwellog-plan/1".
[[nodiscard]] std::string json_from_plan(const PlanReport& report);

}  // namespace logger::app
