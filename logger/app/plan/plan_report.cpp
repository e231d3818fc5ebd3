#include "logger/app/plan/plan_report.hpp"

#include <algorithm>

namespace logger::app {

using analysis::plan::CartonSize;
using analysis::plan::StackingSite;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr double kFreeShare = 0.5;  // of the floor, for the cartons of its own room: our assumption

// What the heat in the cartons is reckoned with; nothing where job.json does not say their size.
void plan_stacking(PlannedRoom& planned, const PlanQuestion& question) {
  const JobRoom& room = *planned.room;
  if (!room.stack || !room.stack->carton_mass) {
    planned.no_stacking_because =
        "job.json does not say how large and heavy a carton is (rooms[].stack)";
    return;
  }
  const auto& requirements = room.requirements;
  StackingSite site;
  site.room = analysis::base::Celsius{
      (requirements.temperature_low.value.value() + requirements.temperature_high.value.value()) /
      2.0};
  site.cartons_come_at = question.cartons_come_at;
  site.dwell = requirements.dwell.value;
  site.free_floor = analysis::base::SquareMetres{kFreeShare * planned.plan.floor_area.value()};
  const CartonSize carton{room.stack->carton_length, room.stack->carton_width,
                          room.stack->carton_height, *room.stack->carton_mass};
  auto found = analysis::plan::stackings_for(planned.cartons, carton, site);
  if (found) {
    planned.stackings = std::move(found).value();
  } else {
    planned.no_stacking_because = found.error();
  }
}

bool is_same_pack(const Order& order, const JobRoom& room) {
  return order.product == room.floor_product && order.pack.panels == room.plan->pack.panels &&
         order.pack.coverage == room.plan->pack.coverage;
}

void take_orders(PlanReport& report) {
  struct Gathered {
    std::vector<analysis::plan::RoomPanels> panels;
    int delivered = 0;
    double waste = 0.0;
  };
  std::vector<Gathered> gathered;
  for (const PlannedRoom& planned : report.rooms) {
    const JobPlan& plan = *planned.room->plan;
    auto order = std::find_if(report.orders.begin(), report.orders.end(),
                              [&](const Order& each) { return is_same_pack(each, *planned.room); });
    if (order == report.orders.end()) {
      report.orders.push_back({{}, planned.room->floor_product, plan.pack, {}});
      gathered.emplace_back();
      order = report.orders.end() - 1;
    }
    order->rooms.push_back(planned.room->id);
    Gathered& all = gathered[static_cast<std::size_t>(order - report.orders.begin())];
    all.panels.push_back({planned.plan.floor_area, planned.plan.panels});
    all.delivered += plan.packs_delivered;
    all.waste = std::max(all.waste, plan.waste_rule_fraction);
  }
  for (std::size_t i = 0; i < report.orders.size(); ++i) {
    report.orders[i].need = analysis::plan::carton_need_from(
        gathered[i].panels, report.orders[i].pack, gathered[i].delivered, gathered[i].waste);
  }
}

}  // namespace

Result<PlanReport> plan_report_from(const Job& job, const PlanQuestion& question) {
  PlanReport report;
  report.job_name = job.name;
  bool known = question.room.empty();
  for (const JobRoom& room : job.rooms) {
    if (!question.room.empty() && room.id != question.room) {
      continue;
    }
    known = true;
    if (!room.plan) {
      report.rooms_without_plan.push_back(room.id);
      continue;
    }
    auto plan = analysis::plan::room_plan_from(room.plan->request);
    if (!plan) {
      return failure(ErrorCode::invalid_input,
                     "room `" + room.id + "` can't be planned: " + plan.error());
    }
    PlannedRoom planned{&room, std::move(plan).value(), 0, {}, ""};
    const auto need =
        analysis::plan::carton_need_from({{planned.plan.floor_area, planned.plan.panels}},
                                         room.plan->pack, 0, room.plan->waste_rule_fraction);
    planned.cartons = need.cartons_to_order;
    plan_stacking(planned, question);
    report.rooms.push_back(std::move(planned));
  }
  if (!known) {
    return failure(ErrorCode::not_found, "room `" + question.room + "` is not in job.json");
  }
  if (report.rooms.empty()) {
    return failure(
        ErrorCode::invalid_input,
        "no room has a plan: give it \"plan\" in job.json, with its outline and the size "
        "of the panels (docs/plan.md)");
  }
  take_orders(report);
  return report;
}

}  // namespace logger::app
