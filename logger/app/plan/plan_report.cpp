#include "logger/app/plan/plan_report.hpp"

#include "logger/app/room/floor_run.hpp"
#include "logger/app/room/rooms_asked.hpp"

namespace logger::app {

using analysis::plan::CartonSize;
using analysis::plan::Outline;
using analysis::plan::StackingSite;
using analysis::plan::WallStretch;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr double kFreeShare = 0.5;                 // of the floor, for its cartons: our assumption
constexpr analysis::base::Metres kHeaterAir{0.5};  // before a heater: our assumption

constexpr double kDoorDepth = 1.5;  // of its width: the leaf, and room to come in; our assumption

// Door leaves may open into the room, hung on either side.
std::vector<Outline> kept_clear_in(const PlannedRoom& planned) {
  const JobPlan& job = *planned.room->plan;
  std::vector<Outline> clear;
  for (const auto& door : job.request.doors) {
    const WallStretch stretch{door.wall, door.from_corner, door.door.width};
    clear.push_back(place_before(planned.plan.room, stretch,
                                 analysis::base::Metres{kDoorDepth * door.door.width.value()}));
  }
  for (const WallStretch& heater : job.heaters) {
    clear.push_back(place_before(planned.plan.room, heater, kHeaterAir));
  }
  return clear;
}

StackingSite site_of(const PlannedRoom& planned, const PlanQuestion& question) {
  const auto& requirements = planned.room->requirements;
  const JobPlan& job = *planned.room->plan;
  StackingSite site;
  site.room = job.kept_at.value_or(analysis::base::Celsius{
      (requirements.temperature_low.value.value() + requirements.temperature_high.value.value()) /
      2.0});
  site.cartons_come_at = question.cartons_come_at;
  site.core_limit = requirements.core_within.value;
  site.dwell = requirements.dwell.value;
  site.free_floor = analysis::base::SquareMetres{kFreeShare * planned.plan.floor_area.value()};
  site.most_load_kg_per_m2 = job.floor_bears_kg_per_m2;
  return site;
}

// What the heat in the cartons is reckoned with; nothing where job.json does not say their size.
void plan_stacking(PlannedRoom& planned, const PlanQuestion& question) {
  const JobRoom& room = *planned.room;
  planned.kept_clear = kept_clear_in(planned);
  if (!room.stack || !room.stack->carton_mass) {
    planned.no_stacking_because =
        room.stack ? "job.json does not say how heavy a carton is (rooms[].stack.carton_mass_kg)"
                   : "job.json does not say how large and heavy a carton is (rooms[].stack)";
    return;
  }
  const CartonSize carton{room.stack->carton_length, room.stack->carton_width,
                          room.stack->carton_height, *room.stack->carton_mass};
  const auto found =
      analysis::plan::stackings_for(planned.cartons, carton, site_of(planned, question));
  if (!found) {
    planned.no_stacking_because = found.error();
    return;
  }
  const analysis::plan::StackRoom places{planned.plan.room, planned.kept_clear};
  for (const auto& stacking : found.value()) {
    if (auto placed = analysis::plan::places_for(stacking, carton, planned.cartons, places)) {
      if (planned.stackings.empty()) {
        planned.places = std::move(*placed);
      }
      planned.stackings.push_back(stacking);
    }
  }
  if (planned.stackings.empty()) {
    planned.no_stacking_because =
        "the room has no place for the stacks off its walls, doors, heaters and fixed items; bring "
        "the cartons in two deliveries or to two rooms";
    return;
  }
  if (room.plan->laying_on && planned.stackings.front().warms_up) {
    // An estimate has no minutes: the hour before.
    constexpr std::int64_t kHour = 3'600'000'000;
    const std::int64_t latest = (*room.plan->laying_on - planned.stackings.front().lead).value;
    planned.deliver_by = UtcMicros{latest - (latest % kHour + kHour) % kHour};
  }
}

// The floor's own coefficient and service climate where job.json says them; panels come as dry as
// the room may be, which is when they grow the most.
analysis::plan::ServiceClimate climate_of(const JobRoom& room) {
  analysis::plan::ServiceClimate climate;
  if (room.movement) {
    climate.humidity = {room.requirements.rh_low.value, room.movement->service_low,
                        room.movement->service_high};
    const auto run = floor_run_from(*room.movement);
    climate.limit = run.coefficient;
    climate.hold = run.hold;
    climate.is_assumed = false;
  }
  return climate;
}

std::vector<analysis::plan::OrderedRoom> ordered_rooms_of(const PlanReport& report) {
  std::vector<analysis::plan::OrderedRoom> rooms;
  for (const PlannedRoom& planned : report.rooms) {
    const JobPlan& job = *planned.room->plan;
    rooms.push_back({planned.room->id, planned.room->floor_product, job.pack, job.packs_delivered,
                     job.waste_rule_fraction, &job.request, &planned.plan, job.terms});
  }
  return rooms;
}

}  // namespace

Result<PlanReport> plan_report_from(const Job& job, const PlanQuestion& question) {
  const auto asked = rooms_asked_for(job, question.room);
  if (!asked) {
    return store::Failure{asked.error()};
  }
  PlanReport report;
  report.job_name = job.name;
  for (const JobRoom* asked_room : asked.value()) {
    const JobRoom& room = *asked_room;
    if (!room.plan) {
      report.rooms_without_plan.push_back(room.id);
      continue;
    }
    auto request = room.plan->request;
    request.climate = climate_of(room);
    auto plan = analysis::plan::room_plan_from(request);
    if (!plan) {
      return failure(ErrorCode::invalid_input,
                     "room `" + room.id + "` can't be planned: " + plan.error());
    }
    PlannedRoom planned;
    planned.room = &room;
    planned.plan = std::move(plan).value();
    planned.climate = request.climate;
    const auto need = analysis::plan::carton_need_from(
        {{planned.plan.floor_area, planned.plan.panels, room.plan->waste_rule_fraction}},
        room.plan->pack, 0);
    planned.cartons = need.cartons_to_order;
    plan_stacking(planned, question);
    planned.slab_tests = slab_tests_plan_from(job, room);
    report.rooms.push_back(std::move(planned));
  }
  if (report.rooms.empty()) {
    return failure(
        ErrorCode::invalid_input,
        "no room has a plan: give it \"plan\" in job.json, with its outline and the size "
        "of the panels (docs/plan.md)");
  }
  const auto ordered = ordered_rooms_of(report);
  for (std::size_t i = 0; i < ordered.size(); ++i) {
    report.rooms[i].doors_elsewhere = doors_counted_elsewhere(ordered, ordered[i]);
  }
  return report;
}

analysis::plan::OrderList order_from_plan(const PlanReport& report, bool imperial) {
  return analysis::plan::order_list_from(ordered_rooms_of(report), imperial);
}

}  // namespace logger::app
