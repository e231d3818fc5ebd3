#include "logger/app/commands/certificates/certificate_files.hpp"

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>
#include <optional>
#include <set>

#include "analysis/certificate/certificate_json.hpp"
#include "analysis/certificate/readings_file.hpp"
#include "logger/app/commands/certificates/certificate_pages.hpp"
#include "logger/app/commands/export_rows.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using analysis::certificate::CertificateFacts;
using analysis::certificate::FactsBuilder;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr const char* kIssuedEvent = "certificate_issued";

// What `sha256sum --check` reads.
std::string digest_line(const std::string& bytes, const path& file) {
  return sha256_hex_of(bytes) + "  " + file.filename().string() + "\n";
}

// Through a store of its own, which waits for the daemon's commit: the one that is certified from
// is open for reading only.
Result<void> log_issue(const JobFolder& folder, const CertificateFacts& facts,
                       const std::string& sha256_hex) {
  auto store = store::open_sqlite_store(folder.store_file().string(), {});
  if (!store) {
    return store::Failure{store.error()};
  }
  const nlohmann::json detail{
      {"sha256", sha256_hex},
      {"supersedes",
       facts.supersedes ? nlohmann::json(facts.supersedes->number) : nlohmann::json(nullptr)}};
  const auto committed = store.value()->commit(
      {.events = {{0, facts.issued_at, kIssuedEvent, facts.number, store::json_line(detail)}}});
  return committed ? Result<void>{} : store::Failure{committed.error()};
}

// A record later in its boot than those before it.
void extend(std::vector<store::RecordSpan>& spans, const std::string& box_id, RecordId id) {
  const auto same_boot = std::ranges::find_if(spans, [&](const store::RecordSpan& span) {
    return span.boot == id.boot && span.box_id == box_id;
  });
  if (same_boot == spans.end()) {
    spans.push_back({box_id, id.boot, id.sequence, id.sequence});
  } else {
    same_boot->last_sequence = id.sequence;
  }
}

}  // namespace

Result<std::string> next_number(const OpenedJob& opened, const std::string& room_id) {
  const auto events = opened.store->events(0);
  if (!events) {
    return store::Failure{events.error()};
  }
  std::set<std::string> taken;
  for (const store::Event& event : events.value()) {
    if (event.kind == kIssuedEvent) {
      taken.insert(event.subject);
    }
  }
  for (int n = 1;; ++n) {
    const std::string number = room_id + "-" + std::to_string(n);
    std::error_code error;
    if (!taken.contains(number) &&
        !std::filesystem::exists(opened.folder.certificates() / (number + ".json"), error)) {
      return number;
    }
  }
}

CertificateFiles files_of(const JobFolder& folder, const std::string& number) {
  const std::string base = (folder.certificates() / number).string();
  return {base + ".json", base + ".pdf",         base + ".readings.csv", base + ".pdf.sha256",
          base + ".html", base + ".html.sha256", base + ".log"};
}

std::vector<path> files_of_kind(const CertificateFiles& files, std::string_view kind) {
  const std::pair<std::string_view, std::vector<path>> kinds[] = {
      {"json", {files.json}}, {"pdf", {files.pdf}},
      {"html", {files.html}}, {"csv", {files.readings}},
      {"log", {files.log}},   {"sha256s", {files.pdf_digest, files.html_digest}}};
  const auto found = std::ranges::find(kinds, kind, [](const auto& entry) { return entry.first; });
  return found == std::end(kinds) ? std::vector<path>{} : found->second;
}

Result<CertifiedReadings> write_readings(OpenedJob& opened, const JobRoom& room,
                                         FactsBuilder& builder,
                                         const analysis::base::TimeRange& period,
                                         const path& file) {
  std::ofstream out(file.string() + ".part", std::ios::binary | std::ios::trunc);
  out << analysis::certificate::kReadingsHeader << '\n';
  std::optional<std::string> refused;
  CertifiedReadings read{period.from, 0, {}};
  const auto visited =
      visit_history(*opened.store, {boxes_of_room(opened.job, room.id), period.from, period.to, {}},
                    [&](const std::string& box_id, const Record& record, DatedTime at) {
                      const auto added = builder.add({box_id, record, at});
                      if (added) {
                        out << builder.line() << '\n';
                        extend(read.spans, box_id, record.id);
                        ++read.count;
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
  if (read.count == 0) {
    return failure(ErrorCode::invalid_input, "room " + room.id + " has no dated readings from " +
                                                 analysis::base::rfc3339_from_utc(period.from) +
                                                 " to " +
                                                 analysis::base::rfc3339_from_utc(period.to));
  }
  std::error_code error;
  std::filesystem::rename(file.string() + ".part", file, error);
  if (!out || error) {
    return failure(ErrorCode::io, "cannot write " + file.string() + ": " +
                                      (error ? error.message() : "the disk may be full"));
  }
  return read;
}

Result<void> write_certificate(const CertificateFacts& facts,
                               const analysis::evidence::SigningKey& key, const JobFolder& folder,
                               const CertifyOptions& options) {
  const auto bytes = analysis::certificate::issue_certificate(facts, key);
  if (!bytes) {
    return failure(ErrorCode::invalid_input, "no certificate: " + bytes.error().text);
  }
  // The pages are drawn from what was signed, not from what was meant to be.
  const auto read = analysis::certificate::read_certificate(bytes.value());
  if (!read) {
    return failure(ErrorCode::corrupt, "the certificate does not read back: " + read.error().text);
  }
  const auto pages = draw_pages(read.value(), page_options_from(options.letter, options.imperial));
  if (!pages) {
    return store::Failure{pages.error()};
  }
  const CertificateFiles files = files_of(folder, facts.number);
  const auto& [pdf, html] = pages.value();
  for (const auto& [file, text] : {std::pair{files.pdf, pdf},
                                   {files.pdf_digest, digest_line(pdf, files.pdf)},
                                   {files.html, html},
                                   {files.html_digest, digest_line(html, files.html)}}) {
    if (const auto written = write_file(file, text, 0644); !written) {
      return written;
    }
  }
  const auto logged = log_issue(folder, facts, read.value().sha256_hex);
  return logged ? write_file(files.json, bytes.value(), 0644) : logged;
}

}  // namespace logger::app
