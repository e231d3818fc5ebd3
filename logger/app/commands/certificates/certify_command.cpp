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

struct CertificateKeyAndLog {
  const analysis::evidence::SigningKey& key;
  CertifiedLog& log;
};

// Once the floor is being laid, whether it may be laid is no question.
void print_issued(const CertificateFacts& facts, const JobFolder& folder, const Console& console) {
  const CertificateFiles files = files_of(folder, facts.number);
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

store::Result<void> check_superseding(const CertifyOptions& options, const Job& job) {
  if (options.supersedes.empty() != options.reason.empty()) {
    return store::failure(ErrorCode::invalid_input,
                          "--supersedes NUMBER and --reason TEXT belong together: whoever has the "
                          "older certificate wants to know why");
  }
  if (!options.supersedes.empty() && options.room.empty() && job.rooms.size() > 1) {
    return store::failure(ErrorCode::invalid_input,
                          "--supersedes: expected --room, as one certificate takes the place of "
                          "one");
  }
  return check_text("--reason", options.reason, 0, 500);
}

// Everything that does not come out of the readings, numbered and dated.
store::Result<CertificateFacts> numbered_facts(OpenedJob& opened, const JobRoom& room,
                                               const CertifyOptions& options) {
  const auto records = job_records_from(*opened.store);
  const auto gaps = opened.store->gaps();
  const auto period = period_of(opened, room, options);
  auto number = next_number(opened, room.id);
  if (!records || !gaps || !period || !number) {
    return store::Failure{!records  ? records.error()
                          : !gaps   ? gaps.error()
                          : !period ? period.error()
                                    : number.error()};
  }
  CertificateFacts facts =
      declared_facts(opened, room, records.value(), gaps.value(), period.value().to);
  facts.number = std::move(number).value();
  facts.issued_at = opened.now;
  facts.period = period.value();
  if (!options.supersedes.empty()) {
    auto older = superseded_from(opened.folder, room.id, options.supersedes, options.reason);
    if (!older) {
      return store::Failure{older.error()};
    }
    facts.supersedes = std::move(older).value();
  }
  return facts;
}

// Writes all files of the certificate, or none; gives what was signed.
store::Result<CertificateFacts> write_all(OpenedJob& opened, const JobRoom& room,
                                          CertificateFacts declared, const CertifyOptions& options,
                                          const CertificateKeyAndLog& with) {
  const CertificateFiles files = files_of(opened.folder, declared.number);
  const analysis::base::TimeRange period = declared.period;
  FactsBuilder builder(std::move(declared));
  auto readings = write_readings(opened, room, builder, period, files.readings);
  CertificateFacts facts = builder.facts();
  const auto logged =
      readings ? with.log.certify(opened, std::move(readings).value(), with.key, files.log)
               : store::Failure{readings.error()};
  if (logged) {
    facts.log = logged.value();
  }
  const auto written = logged ? write_certificate(facts, with.key, opened.folder, options)
                              : store::Result<void>(store::Failure{logged.error()});
  if (written) {
    return facts;
  }
  std::error_code error;
  for (const path& file : {files.readings, path(files.readings.string() + ".part"), files.log,
                           files.pdf, files.pdf_digest, files.html, files.html_digest}) {
    std::filesystem::remove(file, error);
  }
  return store::Failure{written.error()};
}

int certify_room(OpenedJob& opened, const JobRoom& room, const CertifyOptions& options,
                 const analysis::evidence::SigningKey& key, const Console& console) {
  auto log = CertifiedLog::hold(opened);
  if (!log) {
    return report(console, log.error());
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
  auto declared = numbered_facts(opened, room, options);
  const auto signed_facts =
      declared ? write_all(opened, room, std::move(declared).value(), options, {key, log.value()})
               : declared;
  if (!signed_facts) {
    return report(console, signed_facts.error());
  }
  print_issued(signed_facts.value(), opened.folder, console);
  return kExitDone;
}

}  // namespace

int certify(const CertifyOptions& options, const Console& console) {
  auto opened = open_job(options.job_dir, false);
  if (!opened) {
    return report(console, opened.error());
  }
  if (const auto checked = check_superseding(options, opened.value().job); !checked) {
    return report(console, checked.error());
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
