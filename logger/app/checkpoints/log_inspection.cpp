#include "logger/app/checkpoints/log_inspection.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

#include "logger/app/checkpoints/checkpoint_signing.hpp"
#include "logger/store/evidence_log.hpp"

namespace logger::app {

using analysis::evidence::TreeHead;
using store::Result;

std::vector<std::string> finding_texts(const store::LogReport& report) {
  std::vector<std::string> texts;
  for (const store::LogFinding& finding : report.findings) {
    texts.push_back(finding.text);
  }
  if (report.finding_count > report.findings.size()) {
    texts.push_back("and " + std::to_string(report.finding_count - report.findings.size()) +
                    " more");
  }
  return texts;
}

std::optional<std::string> dated_back_text(const store::LogReport& report) {
  if (report.notes_dated_back.empty()) {
    return std::nullopt;
  }
  return std::to_string(report.notes_dated_back.size()) +
         " note(s) were written down, by their own time, before the note logged before them: the "
         "clock was set back, or a time is wrong; the first is number " +
         std::to_string(report.notes_dated_back.front());
}

Result<LogInspection> inspect_log(const JobFolder& folder, bool simulated,
                                  const KeptCheckpoints& kept) {
  const auto compared = compare_head(folder, simulated, kept);
  // Rows that are gone are the check's to tell, below.
  if (!compared && compared.error().code != store::ErrorCode::corrupt) {
    return store::Failure{compared.error()};
  }
  std::vector<TreeHead> heads;
  for (const KeptCheckpoint& item : kept.items) {
    heads.push_back(item.checkpoint.head);
  }
  auto log = store::EvidenceLog::open(folder.store_file().string());
  if (!log) {
    return store::Failure{log.error()};
  }
  const auto checked = log.value().check(heads);
  if (!checked) {
    return store::Failure{checked.error()};
  }
  const store::LogReport& report = checked.value();
  LogInspection inspection{report.stored, report.proved_entries, {}, {}};
  const std::string fault = compared ? compared.value().fault : compared.error().context;
  if (!fault.empty()) {
    inspection.findings.push_back(fault);
  }
  std::ranges::move(finding_texts(report), std::back_inserter(inspection.findings));
  if (auto remark = dated_back_text(report)) {
    inspection.remarks.push_back(std::move(*remark));
  }
  return inspection;
}

}  // namespace logger::app
