// Room air: what to do about it; and what its humidity means for the gaps.
#include <algorithm>

#include "analysis/physics/psychrometrics.hpp"
#include "logger/app/outlook/sections/room_sections.hpp"
#include "logger/app/room/floor_run.hpp"

namespace logger::app {

using analysis::base::Metres;
using analysis::base::MovementCoefficient;
using analysis::base::RelativeHumidity;
using analysis::physics::FloorRun;
using analysis::readiness::outlook::GapQuestion;
using analysis::readiness::outlook::SlotMean;
using analysis::readiness::room::Air;
using analysis::readiness::room::RoomOfAir;
using analysis::readiness::room::RoomStep;

namespace {

constexpr double kHalfADay = 0.5;  // a day counts when half of it is recorded

void add_water(AirOutlook& air, const RoomFacts& facts) {
  if (!facts.room.air) {
    air.missing.push_back(
        "No litres of water: the job does not tell the room's volume (rooms[].air.volume_m3).");
    return;
  }
  if (!air.known.temperature || !air.known.rh || !air.wanted) {
    return;
  }
  const auto pressure =
      analysis::physics::air_pressure_from_altitude(facts.job.altitude.value_or(Metres{0.0}));
  if (!pressure) {
    return;
  }
  air.pressure = pressure.value();
  air.sea_level_assumed = !facts.job.altitude;
  air.air_changes_assumed = !facts.room.air->air_changes;
  RoomOfAir room{.volume = facts.room.air->volume, .pressure = pressure.value()};
  if (facts.room.air->air_changes) {
    room.air_changes = {*facts.room.air->air_changes, *facts.room.air->air_changes};
  }
  const auto water = water_balance_from(room, {*air.known.temperature, *air.known.rh}, *air.wanted,
                                        air.known.outdoors);
  if (water) {
    air.water = water.value();
  }
}

void add_missing(AirOutlook& air, const RoomFacts& facts) {
  if (!air.known.temperature || !air.known.rh) {
    air.missing.push_back(
        "Too little to advise on: less than half of the last three hours of room air is recorded.");
  }
  if (!facts.history.outdoor_temperature || !facts.history.outdoor_rh) {
    air.missing.push_back(
        "Nothing is said about airing: no outdoor air was logged in the last three hours (channels "
        "of role outdoor_temperature and outdoor_rh).");
  }
}

MovementCase case_from(const GapQuestion& question,
                       const analysis::readiness::outlook::GapAnswer& answer) {
  return {question.run.coefficient, answer};
}

FloorRun run_from(const JobMovement& planned, MovementCoefficient coefficient) {
  FloorRun run = floor_run_from(planned);
  run.coefficient = coefficient;
  return run;
}

std::optional<MovementCase> gap_case(const JobMovement& planned, MovementCoefficient coefficient,
                                     RelativeHumidity at_laying) {
  const GapQuestion question{run_from(planned, coefficient),
                             planned.gap,
                             {at_laying, planned.service_low, planned.service_high}};
  const auto answer = gap_answer_from(question);
  return answer ? std::optional(case_from(question, answer.value())) : std::nullopt;
}

MovementCoefficient coefficient_of(const JobMovement& planned) {
  return floor_run_from(planned).coefficient;
}

// What the floor would have done with the room's daily means since the delivery.
std::optional<LoggedMovement> logged_from(const RoomFacts& facts, const JobMovement& planned) {
  std::optional<LoggedMovement> logged;
  for (const SlotMean& day : facts.history.air_rh_days) {
    const UtcMicros began{day.number * kDaySlot.count()};
    if (!facts.evidence.delivered_at || began < *facts.evidence.delivered_at ||
        day.covered < kHalfADay) {
      continue;
    }
    const RelativeHumidity mean{day.mean};
    if (!logged) {
      logged = LoggedMovement{mean, mean, 0, {}, {}};
    }
    logged->lowest_day = std::min(logged->lowest_day, mean);
    logged->highest_day = std::max(logged->highest_day, mean);
    ++logged->days;
  }
  if (!logged) {
    return std::nullopt;
  }
  const auto change = [&](MovementCoefficient coefficient) {
    return analysis::physics::width_change_from_rh(run_from(planned, coefficient),
                                                   logged->lowest_day, logged->highest_day);
  };
  const auto stated = change(coefficient_of(planned));
  const auto typical = change(analysis::physics::kTypicalMovement);
  if (!stated || !typical) {
    return std::nullopt;
  }
  logged->change = stated.value();
  logged->typical_change = typical.value();
  return logged;
}

}  // namespace

AirOutlook air_from(const RoomFacts& facts) {
  AirOutlook air;
  air.band = facts.tracker.replay().policy().band;
  air.known.temperature = air_temperature_now(facts);
  air.known.rh = air_rh_now(facts);
  if (facts.history.outdoor_temperature && facts.history.outdoor_rh) {
    air.known.outdoors = Air{*facts.history.outdoor_temperature, *facts.history.outdoor_rh};
  }
  const bool band_left =
      air.band.temperature_low <= air.band.temperature_high && air.band.rh_low <= air.band.rh_high;
  if (band_left) {
    if (const auto advice = room_advice_from(air.band, air.known)) {
      air.advice = advice.value();
    }
  } else {
    air.missing.push_back(
        "No advice: the sensors are too uncertain for this band; guarded decisions leave nothing "
        "of it (boxes[].channels[].accuracy).");
  }
  if (air.advice && !air.advice->steps.empty()) {
    const RoomStep& last = air.advice->steps.back();
    if (last.rh) {
      air.wanted = Air{last.temperature, *last.rh};
    }
  }
  if (const auto* slab = gate_of(facts, "slab");
      slab != nullptr && slab->state == analysis::readiness::GateState::not_met) {
    air.for_slab = slab->action;
  }
  add_missing(air, facts);
  add_water(air, facts);
  return air;
}

MovementOutlook movement_from(const RoomFacts& facts) {
  MovementOutlook movement;
  movement.planned = facts.room.movement;
  if (!movement.planned) {
    movement.missing.push_back(
        "Nothing is said about gaps: the job does not tell the floor's width and its gap "
        "(rooms[].movement).");
    return movement;
  }
  const JobMovement& planned = *movement.planned;
  if (const auto practice =
          analysis::readiness::outlook::joint_practice_from(coefficient_of(planned))) {
    movement.practice = practice.value();
  }
  movement.logged = logged_from(facts, planned);
  if (!movement.logged) {
    movement.missing.push_back(
        "Nothing is said about movement so far: no day that began after a noted delivery is "
        "recorded by half.");
  }
  movement.at_laying = air_rh_now(facts);
  if (!movement.at_laying) {
    movement.missing.push_back(
        "The gap is not checked: less than half of the last three hours of room RH is recorded.");
    return movement;
  }
  movement.stated = gap_case(planned, coefficient_of(planned), *movement.at_laying);
  movement.typical = gap_case(planned, analysis::physics::kTypicalMovement, *movement.at_laying);
  if (!movement.stated || !movement.typical) {
    movement.missing.push_back(
        "The gap is not checked: a figure of rooms[].movement lies outside "
        "what the formula covers.");
  }
  return movement;
}

}  // namespace logger::app
