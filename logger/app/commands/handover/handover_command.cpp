// handover: what was laid, how to keep it, what the floor did since.
#include <ostream>

#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_at.hpp"
#include "logger/app/handover/handover_report.hpp"

namespace logger::app {
namespace {

store::Result<void> write_care_pdf(const HandoverReport& made, const HandoverOptions& options) {
  std::error_code error;
  if (std::filesystem::exists(options.pdf, error)) {
    return store::failure(store::ErrorCode::invalid_input,
                          options.pdf.string() + " is there already; name a new file");
  }
  const auto pages = analysis::plan::draw_care_pdf(
      care_document_from(made, options.imperial),
      options.letter ? analysis::drawing::kLetter : analysis::drawing::kA4);
  if (!pages) {
    return store::failure(store::ErrorCode::unavailable,
                          "no pages: " + std::string(text_of(pages.error())));
  }
  return write_file(options.pdf, pages.value(), 0644);
}

}  // namespace

int handover(const HandoverOptions& options, const Console& console) {
  if (options.pdf.empty() && options.letter) {
    return report(console, store::Error{store::ErrorCode::invalid_input,
                                        "--paper letter needs a file: --pdf FILE", 0});
  }
  auto job = job_at(options.job_dir, options.at);
  if (!job) {
    return report(console, job.error());
  }
  const auto made = handover_report_from(job.value().opened, options.room, job.value().at);
  if (!made) {
    return report(console, made.error());
  }
  if (!options.pdf.empty()) {
    if (const auto written = write_care_pdf(made.value(), options); !written) {
      return report(console, written.error());
    }
    console.err << options.pdf.string() << '\n';
  }
  console.out << (options.json ? json_from_handover(made.value())
                               : text_from_handover(made.value(), options.imperial));
  return kExitDone;
}

}  // namespace logger::app
