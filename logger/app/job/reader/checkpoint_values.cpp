// "checkpoints": how often the head of the evidence log is signed, and who stamps it.
#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"
#include "logger/app/job/reader/keys/value_shapes.hpp"

namespace logger::app {
std::optional<JobCheckpoints> checkpoints_from(const ObjectView& view) {
  if (!view.present()) {
    return std::nullopt;
  }
  JobCheckpoints checkpoints;
  if (const auto hours = view.whole_number("every_hours")) {
    checkpoints.every = analysis::base::micros_from_hours(static_cast<double>(*hours));
  }
  checkpoints.time_stamp_url = view.text("time_stamp_url").value_or("");
  checkpoints.authority_certificates = view.text("authority_certificates").value_or("");
  return checkpoints;
}

void check_checkpoints(const Job& job, const ObjectView& root, Findings& findings) {
  if (!job.checkpoints) {
    return;
  }
  const ObjectView view = root.object("checkpoints");
  const std::string& url = job.checkpoints->time_stamp_url;
  const std::string url_key = "checkpoints.time_stamp_url";
  const auto parts = parts_of_url(url);
  if (!url.empty() && !(parts && (parts->scheme == "http" || parts->scheme == "https"))) {
    findings.add_error(view.line_of("time_stamp_url"), url_key,
                       in_quotes(std::string_view(url)) +
                           " is no address of an authority; expected one that begins "
                           "with http:// or https://, without blanks");
  }
  const std::string& file = job.checkpoints->authority_certificates;
  if (!file.empty() && !stays_in_folder(file)) {
    findings.add_error(view.line_of("authority_certificates"), "checkpoints.authority_certificates",
                       in_quotes(std::string_view(file)) +
                           " is not in the job folder; expected the name of a PEM file "
                           "that lies there");
  }
  if (!url.empty() && file.empty()) {
    findings.add_warning(view.line_of("time_stamp_url"), url_key,
                         "without \"authority_certificates\" its time stamps are kept unverified");
  }
}

}  // namespace logger::app
