#include "logger/app/handover/handover_report.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "analysis/readiness/outlook/gap_outlook.hpp"
#include "logger/app/handover/laid_content.hpp"
#include "logger/app/handover/service_history.hpp"
#include "logger/app/room/site_work.hpp"
#include "logger/app/text/listed.hpp"

namespace logger::app {

using analysis::base::Metres;
using analysis::base::RelativeHumidity;
using analysis::physics::FloorHold;
using analysis::physics::FloorRun;
using analysis::readiness::ServiceClimate;
using store::Result;

namespace {

RelativeHumidity middle_of(const ServiceClimate& climate) {
  return RelativeHumidity{(climate.rh_low.value() + climate.rh_high.value()) / 2.0};
}

// The longest part of the planned floor, across its rows or along them.
std::optional<MovingFloor> moving_by_plan(const JobRoom& room) {
  const auto plan = analysis::plan::room_plan_from(room.plan->request);
  if (!plan) {
    return std::nullopt;  // `dwellog check` says why
  }
  MovingFloor moving;
  for (const analysis::plan::FloorPart& part : plan.value().parts) {
    const double across = part.field.high_y_m - part.field.low_y_m;
    const double along = part.field.high_x_m - part.field.low_x_m;
    const bool is_across = across >= along;
    if (std::max(across, along) > moving.floor.run.width.value()) {
      moving.floor.run.width = Metres{std::max(across, along)};
      moving.floor.panel =
          is_across ? room.plan->request.panel.width : room.plan->request.panel.length;
      moving.run_source =
          is_across ? "by the plan, across the rows" : "by the plan, along the rows";
    }
  }
  moving.floor.gap = room.plan->request.wall_gap;
  moving.gap_source = "by the plan";
  return moving;
}

std::optional<MovingFloor> moving_from(const JobRoom& room,
                                       const analysis::readiness::LaidFloor& laid) {
  std::optional<MovingFloor> moving;
  if (room.movement) {
    const JobMovement& planned = *room.movement;
    moving.emplace();
    moving->floor.run = {
        planned.width,
        planned.pinned_one_side ? FloorHold::pinned_one_side : FloorHold::free_both_sides,
        analysis::readiness::outlook::coefficient_from_step(planned.expansion_50_to_80_fraction)};
    moving->floor.gap = planned.gap;
    moving->floor.panel = room.plan ? std::optional(room.plan->request.panel.width) : std::nullopt;
    moving->run_source = "as the job states";
    moving->gap_source = "as the job states";
  } else if (room.plan) {
    moving = moving_by_plan(room);
  }
  if (const auto left = narrowest_gap(laid); moving && left) {
    moving->floor.gap = *left;
    moving->gap_source = laid.gaps.size() == 1 ? "as noted" : "as noted, the narrowest";
  }
  return moving;
}

// The note that the laying is finished, as laying_from takes it.
const store::Note* finished_note(const JobRecords& records, const std::string& room_id) {
  const auto found =
      std::find_if(records.notes.rbegin(), records.notes.rend(), [&](const store::Note& note) {
        return note.kind == "laying" && note.room_id == room_id &&
               content_of(note).value("step", "") == "finished";
      });
  return found == records.notes.rend() ? nullptr : &*found;
}

void add_service(RoomHandover& handover, const ServiceHistory& history, UtcMicros now) {
  if (handover.moving && history.dwell_rh) {
    handover.moving->floor.at_laying = *history.dwell_rh;
    handover.moving->laid_at_dwell_mean = true;
    handover.moving->dwell_days = history.dwell_days;
  }
  handover.service = service_report_from(
      history.since_laying, {*handover.laying.finished_at, now}, handover.climate,
      handover.moving ? std::optional(handover.moving->floor) : std::nullopt);
}

Result<RoomHandover> room_handover(OpenedJob& opened, const JobRoom& room,
                                   const JobRecords& records, UtcMicros now) {
  RoomHandover handover{room.id,
                        room.name,
                        room.floor_area_m2,
                        room.floor_product,
                        room.service,
                        laying_from(records, room.id),
                        {},
                        {},
                        {},
                        {},
                        {},
                        {}};
  const auto& laying = handover.laying;
  handover.moving = moving_from(room, laying.laid);
  if (handover.moving) {
    handover.moving->floor.at_laying = middle_of(room.service);
  } else {
    handover.missing.push_back(
        "How far this floor moves: the job tells neither its width nor its plan "
        "(rooms[].movement, rooms[].plan).");
  }
  if (!laying.began_at || !laying.finished_at) {
    handover.missing.push_back(
        "What was laid and what the floor did since: nobody noted that laying is finished "
        "(dwellog note JOBDIR laying finished).");
    return handover;
  }
  const store::Note* note = finished_note(records, room.id);
  handover.laid_by = note->by;
  handover.laid_remark = content_of(*note).value("remark", "");
  handover.findings = laid_findings(laying.laid, room);
  const auto setup = room_setup_from(opened.job, room, records);
  const auto history =
      service_history_from(*opened.store, opened.job, room, records,
                           {setup.delivered_at, *laying.began_at, *laying.finished_at, now});
  if (!history) {
    return store::Failure{history.error()};
  }
  add_service(handover, history.value(), now);
  return handover;
}

}  // namespace

Result<HandoverReport> handover_report_from(OpenedJob& opened, const std::string& room_id,
                                            std::optional<UtcMicros> at) {
  const Job& job = opened.job;
  if (!room_id.empty() && find_room(job, room_id) == nullptr) {
    return store::failure(
        store::ErrorCode::invalid_input,
        "room `" + room_id + "` is not in job.json; it has " + listed(job.rooms, &JobRoom::id));
  }
  auto all_records = job_records_from(*opened.store);
  if (!all_records) {
    return store::Failure{all_records.error()};
  }
  HandoverReport report{job.name,         job.site_address,        job.installer,
                        opened.simulated, at.value_or(opened.now), {}};
  const JobRecords records = records_as_of(std::move(all_records).value(), report.now);
  for (const JobRoom& room : job.rooms) {
    if (!room_id.empty() && room.id != room_id) {
      continue;
    }
    auto made = room_handover(opened, room, records, report.now);
    if (!made) {
      return store::Failure{made.error()};
    }
    report.rooms.push_back(std::move(made).value());
  }
  return report;
}

}  // namespace logger::app
