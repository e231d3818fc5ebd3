// Cartons: heat in the stack, and what the time in them does to moisture.
#include <algorithm>

#include "analysis/physics/panel/wood_moisture.hpp"
#include "analysis/readiness/gates/gate_parts.hpp"
#include "analysis/readiness/stack/stacking_sentences.hpp"
#include "logger/app/outlook/sections/room_sections.hpp"

namespace logger::app {

using analysis::base::Celsius;
using analysis::base::ChannelRole;
using analysis::physics::CartonWrap;
using analysis::physics::PanelPack;
using analysis::readiness::GateState;
using analysis::readiness::StackingGrade;
using analysis::readiness::StackingPlan;

namespace {

StackingPlan plan_from(const JobStack& stack, Celsius delivered, Celsius room,
                       const analysis::readiness::FloorRequirements& requirements) {
  StackingPlan plan;
  plan.cartons = stack.stacks * stack.cartons_high * stack.cartons_wide;
  plan.carton = {stack.carton_length, stack.carton_width, stack.carton_height, stack.carton_mass};
  plan.planned = {stack.stacks, stack.cartons_high, stack.cartons_wide,
                  stack.on_battens ? analysis::physics::StackBottom::on_battens
                                   : analysis::physics::StackBottom::on_floor};
  plan.delivery = delivered;
  plan.room = room;
  plan.available = requirements.dwell.value;
  plan.within = requirements.core_within.value;
  return plan;
}

// The room as it is now, brought into its band where it is outside: that is what is planned.
Celsius planned_room(Celsius now, const analysis::readiness::ClimateBand& band) {
  return std::clamp(now, band.temperature_low, band.temperature_high);
}

void add_stacking(HeatOutlook& heat, const RoomFacts& facts) {
  const bool warm = heat.core && heat.core->fast.warm_at && heat.core->slow.warm_at;
  if (warm || !facts.room.stack || !heat.delivered || !heat.air) {
    return;
  }
  const StackingPlan plan = plan_from(*facts.room.stack, *heat.delivered,
                                      planned_room(*heat.air, facts.tracker.replay().policy().band),
                                      facts.room.requirements);
  const auto advice = stacking_advice_from(plan);
  if (!advice) {
    heat.missing.push_back(
        "No advice on stacking: the stack, the temperatures or the hours lie outside what the "
        "calculation covers (rooms[].stack).");
    return;
  }
  heat.advises_stacking = advice.value().planned.grade != StackingGrade::whole_range;
  heat.advice = sentences_from_advice(plan, advice.value());
}

void add_missing(HeatOutlook& heat, const RoomFacts& facts) {
  if (!facts.room.stack) {
    heat.missing.push_back(
        "The heat in the stack is not computed: the job does not tell how the cartons lie "
        "(rooms[].stack).");
    return;
  }
  if (!facts.evidence.delivered_at || !heat.delivered) {
    heat.missing.push_back(
        "The heat in the stack is not computed: nobody noted how warm the cartons came (dwellog "
        "note JOBDIR delivery --carton-celsius T).");
  }
  if (!facts.room.stack->carton_mass) {
    heat.missing.push_back(
        "No load on the floor: the job does not tell a carton's mass "
        "(rooms[].stack.carton_mass_kg).");
  }
}

PanelPack pack_from(const RoomFacts& facts) {
  PanelPack pack;
  if (facts.room.stack) {
    pack.carton.length = facts.room.stack->carton_length;
    pack.carton.width = facts.room.stack->carton_width;
    pack.carton.height = facts.room.stack->carton_height;
    pack.plank_width = facts.room.stack->carton_width;
  }
  return pack;
}

void add_emc(MoistureOutlook& moisture, const RoomFacts& facts) {
  const auto air = air_temperature_now(facts);
  const auto rh = air_rh_now(facts);
  if (!air || !rh) {
    moisture.missing.push_back(
        "No equilibrium moisture content: less than half of the last three hours of room air is "
        "recorded.");
    return;
  }
  const auto wood = analysis::physics::wood_emc_from_rh(*air, *rh);
  const auto board = analysis::physics::board_emc_from_rh(
      *air, *rh,
      facts.room.stack ? facts.room.stack->board : analysis::physics::BoardShareOfWood{});
  if (wood && board) {
    moisture.wood_emc = wood.value();
    moisture.board_emc = board.value();
  } else {
    moisture.missing.push_back(
        "No equilibrium moisture content: the room air lies outside what the formula covers.");
  }
}

// From the end of the air read so far, where the computation stands, to from now on.
void count_from(UtcMicros now, const analysis::readiness::StackResult& core,
                analysis::readiness::StackTimeToWarm& to_warm) {
  for (auto* time : {&to_warm.fast, &to_warm.mid, &to_warm.slow}) {
    if (*time) {
      *time = std::max(**time - (now - core.at), Micros{0});
    }
  }
}

// What the computation or a hysteresis says must not contradict the gate.
void follow_gate(HeatOutlook& heat, const RoomFacts& facts) {
  const auto* gate = gate_of(facts, kCoreGate);
  if (gate == nullptr || gate->state != GateState::not_met || !heat.core) {
    return;
  }
  for (auto* core : {&heat.core->fast, &heat.core->mid, &heat.core->slow}) {
    core->warm_at.reset();
  }
  if (const auto time = core_time(facts); !*time) {
    heat.to_warm.reset();
    heat.no_time = time->error();
  }
}

}  // namespace

HeatOutlook heat_from(const RoomFacts& facts) {
  HeatOutlook heat;
  const auto& replay = facts.tracker.replay();
  heat.air = air_temperature_now(facts);
  heat.delivered = replay.setup().stack ? replay.setup().stack->delivered : std::nullopt;
  if (replay.stack()) {
    heat.core = replay.stack()->result();
    heat.to_warm = replay.stack()->time_to_warm();
    if (heat.to_warm) {
      count_from(facts.now, *heat.core, *heat.to_warm);
    }
  }
  for (const auto* channel : analysis::readiness::gates::channels_with(
           ChannelRole::stack_core_temperature, facts.evidence)) {
    if (channel->last_good && !heat.probe) {
      heat.probe = channel->last_good;
    }
  }
  add_stacking(heat, facts);
  follow_gate(heat, facts);
  add_missing(heat, facts);
  return heat;
}

MoistureOutlook moisture_from(const RoomFacts& facts) {
  MoistureOutlook moisture;
  moisture.carton_size_assumed = !facts.room.stack;
  moisture.wrap_assumed = !facts.room.stack || !facts.room.stack->wrap;
  moisture.wrap = moisture.wrap_assumed ? CartonWrap::film_closed : *facts.room.stack->wrap;
  add_emc(moisture, facts);
  const auto& delivered = facts.evidence.delivered_at;
  if (!delivered) {
    moisture.missing.push_back(
        "No time in cartons: nobody noted the delivery (dwellog note JOBDIR delivery).");
    return moisture;
  }
  moisture.in_cartons = facts.now - *delivered;
  const auto air = air_temperature_now(facts);
  const auto cartons = air ? std::optional(carton_moisture_after(pack_from(facts), moisture.wrap,
                                                                 *air, *moisture.in_cartons))
                           : std::nullopt;
  if (cartons && cartons->has_value()) {
    moisture.cartons = cartons->value();
  } else {
    moisture.missing.push_back(
        "Not computed what the cartons have taken up: the room's temperature is not known or "
        "lies outside what the formula covers.");
  }
  return moisture;
}

}  // namespace logger::app
