// Rooms, and their plans, for the tests of plan, order and paper. All are invented.
#pragma once

#include <catch2/catch.hpp>
#include <utility>

#include "analysis/plan/room_plan.hpp"

namespace plan_tests {

using analysis::plan::Metres;
using analysis::plan::Outline;

inline Outline rectangle(double width, double depth) {
  return {{0, 0}, {width, 0}, {width, depth}, {0, depth}};
}

inline analysis::plan::Region room_of(double width, double depth) {
  return analysis::plan::region_from({rectangle(width, depth), {}}).value();
}

inline analysis::plan::RoomPlanRequest request_for(Outline outline) {
  analysis::plan::RoomPlanRequest request;
  request.room = analysis::plan::region_from({std::move(outline), {}}).value();
  request.panel = {Metres{1.2}, Metres{0.2}};
  return request;
}

inline analysis::plan::RoomPlan plan_of(const analysis::plan::RoomPlanRequest& request) {
  auto plan = analysis::plan::room_plan_from(request);
  REQUIRE(plan.has_value());
  return std::move(plan).value();
}

}  // namespace plan_tests
