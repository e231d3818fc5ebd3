// certify: signs what the readings and notes of a room say.
#include <ostream>

#include "logger/app/commands/certificates/certificate_files.hpp"
#include "logger/app/commands/certificates/certified_log.hpp"
#include "logger/app/commands/certificates/certified_period.hpp"
#include "logger/app/commands/certificates/declared_facts.hpp"
#include "logger/app/commands/certificates/issued_certificates.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/keys/key_files.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

using analysis::certificate::CertificateFacts;
using analysis::certificate::FactsBuilder;
using store::ErrorCode;

namespace {

// Once the floor is being laid, whether it may be laid is no question.
void print_issued(const CertificateFacts& facts, const CertificateFiles& files,
                  const JobFolder& folder, const Console& console) {
  if (facts.simulated) {
    console.out << "SIMULATED SITE\n";
  }
  const bool laid = facts.laying.began_at && *facts.laying.began_at < facts.assessment.at;
  console.out << (laid ? "conditions   " : "verdict      ") << name_of(facts.assessment.verdict)
              << (laid ? " (laying had begun)" : "") << '\n'
              << "certificate  " << files.json.string() << '\n';
  if (facts.supersedes) {
    console.out << "supersedes   " << facts.supersedes->number
                << "; tell whoever has that one: verify OLD --newer NEW shows it\n";
  }
  console.out << "pages        " << files.pdf.string() << '\n'
              << "             " << files.html.string() << '\n'
              << "readings     " << files.readings.string() << " (" << facts.readings.records
              << " records)\n"
              << "log extract  " << files.log.string() << '\n'
              << "public key   " << folder.public_key().string() << '\n';
}

int certify_room(OpenedJob& opened, const JobRoom& room, const CertifyOptions& options,
                 const analysis::evidence::SigningKey& key, const Console& console) {
  auto log = CertifiedLog::hold(opened);
  if (!log) {
    return report(console, log.error());
  }
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
  auto number = next_number(opened, room.id);
  if (!number) {
    return report(console, number.error());
  }
  declared.number = std::move(number).value();
  if (!options.supersedes.empty()) {
    auto older = superseded_from(opened.folder, room.id, options.supersedes, options.reason);
    if (!older) {
      return report(console, older.error());
    }
    declared.supersedes = std::move(older).value();
  }
  declared.issued_at = opened.now;
  declared.period = period.value();
  const CertificateFiles files = files_of(opened.folder, declared.number);
  FactsBuilder builder(std::move(declared));
  auto readings = write_readings(opened, room, builder, period.value(), files.readings);
  CertificateFacts facts = builder.facts();
  const auto logged = readings ? log.value().certify(opened, period.value().from,
                                                     std::move(readings).value(), key, files.log)
                               : store::Failure{readings.error()};
  if (logged) {
    facts.log = logged.value();
  }
  const auto written = logged ? write_certificate(facts, key, opened.folder, options)
                              : store::Result<void>(store::Failure{logged.error()});
  if (!written) {
    for (const path& file :
         {files.readings, files.log, files.pdf, files.pdf_digest, files.html, files.html_digest}) {
      std::filesystem::remove(file, error);
    }
    return report(console, written.error());
  }
  print_issued(facts, files, opened.folder, console);
  return kExitDone;
}

}  // namespace

int certify(const CertifyOptions& options, const Console& console) {
  if (options.supersedes.empty() != options.reason.empty()) {
    return report(console,
                  {ErrorCode::invalid_input,
                   "--supersedes NUMBER and --reason TEXT belong together: whoever has the "
                   "older certificate wants to know why",
                   0});
  }
  if (const auto checked = check_text("--reason", options.reason, 0, 500); !checked) {
    return report(console, checked.error());
  }
  if (!options.supersedes.empty() && options.room.empty()) {
    return report(console, {ErrorCode::invalid_input,
                            "--supersedes: expected --room, as one certificate takes the place of "
                            "one",
                            0});
  }
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
