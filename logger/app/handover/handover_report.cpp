#include "logger/app/handover/handover_report.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/handover/laid_content.hpp"
#include "logger/app/handover/service_history.hpp"
#include "logger/app/room/gate_notes.hpp"
#include "logger/app/room/rooms_asked.hpp"
#include "logger/app/room/site_work.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;
using store::Result;

namespace {

// The last that was noted for the room before its laying, and the first after that.
struct DeliveriesByLaying {
  std::optional<UtcMicros> before;
  std::optional<UtcMicros> after;
};
DeliveriesByLaying deliveries_from(const JobRecords& records, const std::string& room_id,
                                   UtcMicros laying_began_at) {
  DeliveriesByLaying found;
  for (const store::Note& note : records.notes) {
    if (note.kind != "delivery" || (note.room_id != room_id && !note.room_id.empty())) {
      continue;
    }
    if (note.at <= laying_began_at) {
      found.before = std::max(found.before.value_or(note.at), note.at);
    } else {
      found.after = std::min(found.after.value_or(note.at), note.at);
    }
  }
  return found;
}

void set_at_laying(MovingFloor& moving, const ServiceHistory& history,
                   const DeliveriesByLaying& deliveries) {
  if (history.dwell_rh) {
    moving.floor.at_laying = *history.dwell_rh;
    moving.laid_at_dwell_mean = true;
    moving.dwell_days = history.dwell_days;
  } else if (deliveries.before) {
    moving.no_dwell = "less than half a day was logged between the delivery and the laying";
  } else {
    moving.no_dwell = deliveries.after ? "the delivery is noted for after the laying began"
                                       : "no delivery is noted";
  }
}

void add_service(RoomHandover& handover, const ServiceHistory& history, UtcMicros now) {
  handover.service = service_report_from(
      history.since_laying, {*handover.laying.finished_at, now}, handover.climate,
      handover.moving ? std::optional(handover.moving->floor) : std::nullopt);
}

// Each step that nobody noted.
std::string laying_commands(const analysis::certificate::LayingFacts& laying,
                            const std::string& room_id, const std::string& job_dir) {
  const auto command = [&](const char* step) {
    const std::string words = std::string("laying ") + step + " --room " + room_id + " --by NAME";
    return command_of({.what = "", .why = "", .words = words, .to_do = ""}, job_dir);
  };
  return (laying.began_at ? std::string() : command("began") + ", when it is done ") +
         command("finished");
}

// The answer to a gate's question that was noted last; empty where nobody did.
GateAnswer gate_answer_from(const JobRecords& records, const std::string& room_id,
                            std::string_view gate) {
  const store::Note* note = newest_gate_note(records, room_id, gate);
  const auto answers = note == nullptr
                           ? nlohmann::json::object()
                           : content_of(*note).value("answers", nlohmann::json::object());
  return {store::text_in(answers, "answer"), store::text_in(answers, "approval")};
}

Result<RoomHandover> room_handover(OpenedJob& opened, const JobRoom& room,
                                   const JobRecords& records, UtcMicros now) {
  RoomHandover handover;
  handover.room_id = room.id;
  handover.room_name = room.name;
  handover.floor_area_m2 = room.floor_area_m2;
  handover.floor_product = room.floor_product;
  handover.climate = room.service;
  handover.laying = laying_from(records, room.id);
  handover.heating = gate_answer_from(records, room.id, "heating_kind");
  handover.use = gate_answer_from(records, room.id, "room_kind");
  const auto& laying = handover.laying;
  const auto plan = room_plan_of(room);
  handover.moving = moving_floor_from(room, plan ? &*plan : nullptr, laying.laid);
  if (!handover.moving) {
    handover.missing.push_back(
        {"How far this floor moves: its size is not on record.",
         "write rooms[].movement or rooms[].plan of room " + room.id + " into job.json"});
  }
  if (!laying.began_at || !laying.finished_at) {
    handover.missing.push_back(
        {"What was laid and what the floor did since: nobody noted that laying is finished.",
         laying_commands(laying, room.id, opened.folder.root.string())});
    return handover;
  }
  const store::Note* note = laying_note(records, room.id, "finished");
  handover.laid_by = note->by;
  handover.laid_remark = content_of(*note).value("remark", "");
  if (plan) {
    handover.planned = planned_floor_from(room.plan->request, *plan);
  }
  const auto deliveries = deliveries_from(records, room.id, *laying.began_at);
  handover.delivered_late = deliveries.before ? std::nullopt : deliveries.after;
  const auto history =
      service_history_from(*opened.store, opened.job, room, records,
                           {deliveries.before, *laying.began_at, *laying.finished_at, now});
  if (!history) {
    return store::Failure{history.error()};
  }
  if (handover.moving) {
    set_at_laying(*handover.moving, history.value(), deliveries);
  }
  add_service(handover, history.value(), now);
  return handover;
}

}  // namespace

std::vector<std::string> findings_of(const RoomHandover& room, bool imperial) {
  std::vector<std::string> findings;
  if (room.planned) {
    findings = findings_from(room.laying.laid, *room.planned, length_words_in({imperial}));
  }
  if (room.delivered_late) {
    findings.push_back("laying began before the delivery, which is noted for " +
                       minute_text_from_utc(*room.delivered_late));
  }
  return findings;
}

Result<HandoverReport> handover_report_from(OpenedJob& opened, const std::string& room_id,
                                            std::optional<UtcMicros> at) {
  const Job& job = opened.job;
  const auto rooms = rooms_asked_for(job, room_id);
  if (!rooms) {
    return store::Failure{rooms.error()};
  }
  if (at && *at > opened.now) {
    return store::failure(store::ErrorCode::invalid_input,
                          "--at " + analysis::base::rfc3339_from_utc(*at) +
                              " is in the future; expected a time up to " +
                              analysis::base::rfc3339_from_utc(opened.now));
  }
  auto all_records = job_records_from(*opened.store);
  if (!all_records) {
    return store::Failure{all_records.error()};
  }
  HandoverReport report{job.name,         job.site_address,        job.installer,
                        opened.simulated, at.value_or(opened.now), {}};
  const JobRecords records = records_as_of(std::move(all_records).value(), report.now);
  for (const JobRoom* room : rooms.value()) {
    auto made = room_handover(opened, *room, records, report.now);
    if (!made) {
      return store::Failure{made.error()};
    }
    report.rooms.push_back(std::move(made).value());
  }
  return report;
}

}  // namespace logger::app
