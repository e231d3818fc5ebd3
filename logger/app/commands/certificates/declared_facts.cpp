#include "logger/app/commands/certificates/declared_facts.hpp"

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "analysis/certificate/cautions.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/room/noted_times.hpp"
#include "logger/app/room/site_work.hpp"

namespace logger::app {

using analysis::certificate::CertificateFacts;
using analysis::certificate::InstrumentFacts;

namespace {

// Where the sensor sits, in the words of job.json and of the note that placed it.
std::string placement_text(const JobChannel& declared,
                           const analysis::readiness::ChannelSetup& channel,
                           const JobRecords& records) {
  std::string text = declared.placement;
  const auto add = [&text](const std::string& more) {
    text += (text.empty() || more.empty() ? "" : ", ") + more;
  };
  add(placement_remark_from(records, channel.channel_id));
  if (channel.placed_at) {
    add("since " + analysis::base::minute_text_from_utc(*channel.placed_at));
  }
  return text;
}

// What stands where a probe box has its number.
std::string serial_text(const JobBox& box) {
  if (box.csv) {
    return std::string(analysis::certificate::kImportedSerial);
  }
  if (!box.registers) {
    return std::to_string(box.serial);
  }
  const auto& identity = box.registers->identity;
  return identity ? "transmitter " + nlohmann::json(identity->raw).dump()
                  : "transmitter " + box.id + ", unit " + std::to_string(box.unit);
}

std::vector<InstrumentFacts> instruments_of(const Job& job, const JobRecords& records,
                                            const analysis::readiness::RoomSetup& setup) {
  std::vector<InstrumentFacts> instruments;
  for (const auto& channel : setup.channels) {
    InstrumentFacts facts;
    facts.channel = channel;
    const JobBox* box = find_box(job, channel.box_id);
    facts.box_serial = serial_text(*box);
    for (const JobChannel& declared : box->channels) {
      if (declared.id == channel.channel_id) {
        facts.sensor_serial = declared.sensor_serial;
        facts.placement = placement_text(declared, channel, records);
      }
    }
    for (const store::Calibration& row : records.calibrations) {
      if (row.box_id == channel.box_id && row.channel_index == channel.channel_index) {
        facts.calibration_reference = row.reference;
      }
    }
    instruments.push_back(std::move(facts));
  }
  return instruments;
}

}  // namespace

CertificateFacts declared_facts(const OpenedJob& opened, const JobRoom& room,
                                const JobRecords& all_records, const std::vector<store::Gap>& gaps,
                                UtcMicros until) {
  const JobRecords records = records_as_of(all_records, until);
  const auto setup = room_setup_from(opened.job, room, records);
  CertificateFacts facts;
  facts.simulated = opened.simulated;
  facts.parties = {opened.job.name, opened.job.site_address, opened.job.installer,
                   opened.job.client};
  facts.room = {room.id, room.name, room.floor_area_m2, room.floor_product};
  facts.requirements = room.requirements;
  facts.delivered_at = setup.delivered_at;
  facts.slab_poured_at = setup.slab_poured_at;
  facts.instruments = instruments_of(opened.job, records, setup);
  facts.stack = setup.stack;
  RoomNotes notes = room_notes_from(records, room, until);
  for (auto& gate : notes.site_gates) {
    // The machine's time says nothing of a simulated one.
    gate.noted_at = opened.simulated ? std::nullopt : gate.noted_at;
    (gate.open ? facts.open_answers : facts.site_gates).push_back(std::move(gate));
  }
  facts.subfloor_tests = std::move(notes.subfloor_tests);
  facts.laying = laying_from(records, room.id);
  SiteWork work = site_work_from(records, opened.job, room, until);
  facts.placements = std::move(work.placements);
  facts.photos = std::move(work.photos);
  facts.noted = noted_facts_from(records, facts, until);
  const auto boxes = boxes_of_room(opened.job, room.id);
  for (const store::Gap& gap : gaps) {
    if (std::find(boxes.begin(), boxes.end(), gap.box_id) != boxes.end()) {
      static constexpr std::array<const char*, 4> kReasons = {"", "overflow", "corrupt", "missing"};
      facts.lost_records.push_back({gap.box_id, gap.boot, gap.first_sequence, gap.last_sequence,
                                    kReasons.at(static_cast<std::size_t>(gap.reason))});
    }
  }
  facts.cautions = analysis::certificate::certificate_cautions();
  facts.software = software_text();
  return facts;
}

}  // namespace logger::app
