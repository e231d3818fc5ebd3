// certify: signs what the readings and notes of a room say.
#include <algorithm>
#include <array>
#include <fstream>
#include <nlohmann/json.hpp>
#include <ostream>

#include "analysis/certificate/cautions.hpp"
#include "analysis/certificate/certificate_json.hpp"
#include "analysis/certificate/facts_builder.hpp"
#include "analysis/certificate/pages.hpp"
#include "analysis/certificate/readings_file.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/export_rows.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/keys/key_files.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

using analysis::certificate::CertificateFacts;
using analysis::certificate::FactsBuilder;
using analysis::certificate::GapFacts;
using analysis::certificate::InstrumentFacts;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

struct CertificateFiles {
  path json;
  path pdf;
  path readings;
  path pdf_digest;
};

// "<room>-<n>" with the first n that has no certificate yet.
std::string next_number(const JobFolder& folder, const std::string& room_id) {
  for (int n = 1;; ++n) {
    const std::string number = room_id + "-" + std::to_string(n);
    std::error_code error;
    if (!std::filesystem::exists(folder.certificates() / (number + ".json"), error)) {
      return number;
    }
  }
}

CertificateFiles files_of(const JobFolder& folder, const std::string& number) {
  const std::string base = (folder.certificates() / number).string();
  return {base + ".json", base + ".pdf", base + ".readings.csv", base + ".pdf.sha256"};
}

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
    return "imported";
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

// Everything that does not come out of the readings.
CertificateFacts declared_facts(const OpenedJob& opened, const JobRoom& room,
                                const JobRecords& records, const std::vector<store::Gap>& gaps,
                                UtcMicros until) {
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
  facts.site_gates = std::move(notes.site_gates);
  facts.subfloor_tests = std::move(notes.subfloor_tests);
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

// First and last record of the room, where the options name no period.
Result<analysis::base::TimeRange> period_of(OpenedJob& opened, const JobRoom& room,
                                            const CertifyOptions& options) {
  const auto from = moment_from_option("--from", options.from);
  const auto to = moment_from_option("--to", options.to);
  if (!from || !to) {
    return store::Failure{!from ? from.error() : to.error()};
  }
  std::optional<UtcMicros> first;
  std::optional<UtcMicros> last;
  for (const std::string& box_id : boxes_of_room(opened.job, room.id)) {
    const auto newest = opened.store->last_record(box_id);
    const auto boots = opened.store->boots(box_id);
    if (!newest || !boots) {
      return store::Failure{!newest ? newest.error() : boots.error()};
    }
    if (!newest.value()) {
      continue;
    }
    const auto begin = dated_record(
        *opened.store, box_id, {boots.value().front().boot, boots.value().front().first_sequence});
    const auto end = dated_record(*opened.store, box_id, newest.value()->id);
    if (!begin || !end) {
      return store::Failure{!begin ? begin.error() : end.error()};
    }
    if (begin.value() && (!first || begin.value()->at < *first)) {
      first = begin.value()->at;
    }
    if (end.value() && (!last || end.value()->at > *last)) {
      last = end.value()->at;
    }
  }
  if (!first || !last) {
    return failure(ErrorCode::invalid_input, "room " + room.id + " has no dated readings yet");
  }
  // While the box is heard the period ends now, so that what was just noted counts.
  const bool heard = opened.now - *last <= room.requirements.longest_interval.value;
  const analysis::base::TimeRange period{from.value().value_or(*first),
                                         to.value().value_or(heard ? opened.now : *last)};
  if (period.from >= period.to || period.to > opened.now) {
    return failure(ErrorCode::invalid_input,
                   "the period " + analysis::base::rfc3339_from_utc(period.from) + " to " +
                       analysis::base::rfc3339_from_utc(period.to) +
                       " must run forwards and not end after now, " +
                       analysis::base::rfc3339_from_utc(opened.now));
  }
  return period;
}

// Feeds the readings to the builder and writes them beside.
Result<void> write_readings(OpenedJob& opened, const JobRoom& room, FactsBuilder& builder,
                            const analysis::base::TimeRange& period, const path& file) {
  std::ofstream out(file.string() + ".part", std::ios::binary | std::ios::trunc);
  out << analysis::certificate::kReadingsHeader << '\n';
  std::optional<std::string> refused;
  const auto visited =
      visit_history(*opened.store, {boxes_of_room(opened.job, room.id), period.from, period.to, {}},
                    [&](const std::string& box_id, const Record& record, DatedTime at) {
                      const auto added = builder.add({box_id, record, at});
                      if (added) {
                        out << builder.line() << '\n';
                      } else if (!refused) {
                        refused = added.error().text;
                      }
                    });
  out.close();
  if (!visited) {
    return store::Failure{visited.error()};
  }
  if (refused) {
    return failure(ErrorCode::corrupt, "a reading can't be certified: " + *refused);
  }
  std::error_code error;
  std::filesystem::rename(file.string() + ".part", file, error);
  if (!out || error) {
    return failure(ErrorCode::io, "cannot write " + file.string());
  }
  return {};
}

Result<void> write_certificate(const CertificateFacts& facts,
                               const analysis::evidence::SigningKey& key,
                               const CertificateFiles& files, const CertifyOptions& options) {
  const auto bytes = analysis::certificate::issue_certificate(facts, key);
  if (!bytes) {
    return failure(ErrorCode::invalid_input, "no certificate: " + bytes.error().text);
  }
  // The pages are drawn from what was signed, not from what was meant to be.
  const auto read = analysis::certificate::read_certificate(bytes.value());
  if (!read) {
    return failure(ErrorCode::corrupt, "the certificate does not read back: " + read.error().text);
  }
  const auto pdf = analysis::certificate::draw_certificate_pdf(
      read.value().facts, read.value().sha256_hex,
      {options.letter ? analysis::certificate::Paper::letter : analysis::certificate::Paper::a4,
       options.imperial ? analysis::certificate::Units::imperial
                        : analysis::certificate::Units::metric});
  if (!pdf) {
    return failure(ErrorCode::unavailable, "no PDF: " + std::string(text_of(pdf.error())));
  }
  const std::string digest =
      sha256_hex_of(pdf.value()) + "  " + files.pdf.filename().string() + "\n";
  for (const auto& step :
       {write_file(files.json, bytes.value(), 0644), write_file(files.pdf, pdf.value(), 0644),
        write_file(files.pdf_digest, digest, 0644)}) {
    if (!step) {
      return step;
    }
  }
  return {};
}

int certify_room(OpenedJob& opened, const JobRoom& room, const CertifyOptions& options,
                 const analysis::evidence::SigningKey& key, const Console& console) {
  const auto records = job_records_from(*opened.store);
  const auto gaps = opened.store->gaps();
  const auto period = period_of(opened, room, options);
  if (!records || !gaps || !period) {
    return report(console, !records ? records.error() : !gaps ? gaps.error() : period.error());
  }
  std::error_code error;
  std::filesystem::create_directories(opened.folder.certificates(), error);
  const FolderLock lock(opened.folder.certificates() / ".lock");
  if (!lock.held()) {
    return report(console, {ErrorCode::unavailable,
                            opened.folder.certificates().string() +
                                ": cannot be written, or another certify works there; try again",
                            0});
  }
  CertificateFacts declared =
      declared_facts(opened, room, records.value(), gaps.value(), period.value().to);
  declared.number = next_number(opened.folder, room.id);
  declared.issued_at = opened.now;
  declared.period = period.value();
  const CertificateFiles files = files_of(opened.folder, declared.number);
  FactsBuilder builder(std::move(declared));
  const auto readings = write_readings(opened, room, builder, period.value(), files.readings);
  const CertificateFacts facts = builder.facts();
  const auto written = readings ? write_certificate(facts, key, files, options) : readings;
  if (!written) {
    std::filesystem::remove(files.readings, error);
    return report(console, written.error());
  }
  if (facts.simulated) {
    console.out << "SIMULATED SITE\n";
  }
  console.out << "verdict      " << name_of(facts.assessment.verdict) << '\n'
              << "certificate  " << files.json.string() << '\n'
              << "pages        " << files.pdf.string() << '\n'
              << "readings     " << files.readings.string() << " (" << facts.readings.records
              << " records)\n"
              << "public key   " << opened.folder.public_key().string() << '\n';
  return kExitDone;
}

}  // namespace

int certify(const CertifyOptions& options, const Console& console) {
  auto opened = open_job(options.job_dir, false);
  if (!opened) {
    return report(console, opened.error());
  }
  // Before the rooms are worked on: one question for all of them, and a wrong answer costs nothing.
  auto key = open_signing_key(opened.value().folder, passphrase_source(options.passphrase_file));
  if (!key) {
    return report(console, key.error());
  }
  analysis::evidence::wipe(key.value().passphrase);
  bool found = false;
  for (const JobRoom& room : opened.value().job.rooms) {
    if (!options.room.empty() && room.id != options.room) {
      continue;
    }
    found = true;
    const int status = certify_room(opened.value(), room, options, key.value().key, console);
    if (status != kExitDone) {
      return status;
    }
  }
  return found ? kExitDone
               : report(console, {ErrorCode::invalid_input,
                                  "room `" + options.room + "` is not in job.json", 0});
}

}  // namespace logger::app
