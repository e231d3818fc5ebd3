#include "logger/app/commands/certificates/certificate_files.hpp"

#include <fstream>
#include <optional>

#include "analysis/certificate/certificate_json.hpp"
#include "analysis/certificate/pages.hpp"
#include "analysis/certificate/readings_file.hpp"
#include "logger/app/commands/export_rows.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

using analysis::certificate::CertificateFacts;
using analysis::certificate::FactsBuilder;
using store::ErrorCode;
using store::failure;
using store::Result;

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

}  // namespace logger::app
