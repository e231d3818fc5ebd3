#include "logger/app/commands/certificates/certified_log.hpp"

#include <sodium.h>

#include <fstream>

#include "logger/app/checkpoints/checkpoint_signing.hpp"

namespace logger::app {

using analysis::certificate::AnchorFacts;
using analysis::certificate::LogFacts;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

std::string base64_from_bytes(std::string_view bytes) {
  std::string text(sodium_base64_ENCODED_LEN(bytes.size(), sodium_base64_VARIANT_ORIGINAL), '\0');
  sodium_bin2base64(text.data(), text.size(), reinterpret_cast<const unsigned char*>(bytes.data()),
                    bytes.size(), sodium_base64_VARIANT_ORIGINAL);
  text.pop_back();  // its terminator
  return text;
}

std::string without_line_end(std::string line) {
  line.pop_back();
  return line;
}

Result<store::ExtractSummary> write_extract(store::EvidenceLog& log,
                                            const store::ExtractRequest& request,
                                            const std::filesystem::path& file) {
  const std::string part = file.string() + ".part";
  std::ofstream out(part, std::ios::binary | std::ios::trunc);
  auto summary = log.extract(request, [&](std::string_view bytes) -> Result<void> {
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    return out ? Result<void>() : failure(ErrorCode::io, "cannot write " + part);
  });
  out.close();
  std::error_code error;
  if (summary && out) {
    std::filesystem::rename(part, file, error);
  }
  if (!summary || !out || error) {
    std::filesystem::remove(part, error);
    return summary ? failure(ErrorCode::io, "cannot write " + file.string()) : std::move(summary);
  }
  return summary;
}

}  // namespace

Result<CertifiedLog> CertifiedLog::hold(OpenedJob& opened) {
  // The folder first: what is signed meanwhile is of a longer log than the one
  // held.
  auto kept = kept_checkpoints(opened.folder, opened.job.checkpoints);
  if (!kept) {
    return store::Failure{kept.error()};
  }
  const auto compared = compare_head(opened.folder, opened.simulated, kept.value());
  if (!compared) {
    return store::Failure{compared.error()};
  }
  if (!compared.value().fault.empty()) {
    return failure(ErrorCode::corrupt,
                   "no certificate over a log that is not the one that was "
                   "signed: " +
                       compared.value().fault);
  }
  auto snapshot = store::StoreSnapshot::hold(*opened.store, opened.folder.store_file().string());
  if (!snapshot) {
    return store::Failure{snapshot.error()};
  }
  const auto facts = snapshot.value().log().check_facts();
  if (!facts) {
    return store::Failure{facts.error()};
  }
  if (!facts.value().sound()) {
    return failure(ErrorCode::corrupt,
                   "no certificate over rows that are not those that were logged: " +
                       facts.value().findings.front().text + "; `dwellog inspect` tells all");
  }
  return CertifiedLog(std::move(kept).value(), std::move(snapshot).value());
}

Result<LogFacts> CertifiedLog::certify(const OpenedJob& opened, CertifiedReadings readings,
                                       const analysis::evidence::SigningKey& key,
                                       const std::filesystem::path& extract_file) {
  const auto head = snapshot_.log().head();
  if (!head) {
    return store::Failure{head.error()};
  }
  store::ExtractRequest request{head.value().size, readings.from, std::move(readings.spans), {}};
  for (const KeptCheckpoint& item : kept_.items) {
    request.bounds.push_back(item.checkpoint.head.size);
  }
  const auto written = write_extract(snapshot_.log(), request, extract_file);
  if (!written) {
    return store::Failure{written.error()};
  }
  if (written.value().readings != readings.count) {
    return failure(ErrorCode::corrupt, std::to_string(readings.count) + " readings, but " +
                                           std::to_string(written.value().readings) +
                                           " of them stand in the evidence log; `dwellog inspect` "
                                           "tells which do not");
  }
  const auto line =
      analysis::evidence::sign_checkpoint(head.value(), opened.simulated, opened.now, key);
  if (!line) {
    return failure(ErrorCode::unsupported, line.error().text);
  }
  const auto kept = sign_head(opened.folder, head.value(), opened.simulated, opened.now, key);
  if (!kept) {
    return store::Failure{kept.error()};
  }
  LogFacts facts{without_line_end(line.value()), std::nullopt, 0};
  if (const KeptCheckpoint* anchored = newest_anchored(kept_)) {
    facts.anchor =
        AnchorFacts{without_line_end(anchored->text), anchored->token->stamped_at,
                    anchored->token->authority, base64_from_bytes(anchored->token->reply_der)};
    facts.readings_anchored = static_cast<std::int64_t>(
        written.value().readings_below.at(anchored->checkpoint.head.size));
  }
  return facts;
}

}  // namespace logger::app
