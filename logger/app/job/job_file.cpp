#include "logger/app/job/job_file.hpp"

#include <algorithm>

#include "analysis/evidence/digest.hpp"
#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/job_keys.hpp"
#include "logger/app/job/reader/keys/json_tree.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"

namespace logger::app {
namespace {

constexpr std::size_t kLargestFile = std::size_t{1} << 20U;  // bytes

// The Job of a text without errors; nullopt after errors, which are in `findings`.
std::optional<Job> checked_job(std::string_view text, Findings& findings) {
  if (text.size() > kLargestFile) {
    findings.add_error(1, "", std::to_string(text.size()) + " bytes; expected at most 1 MiB");
    return std::nullopt;
  }
  JsonTree tree = tree_from_json(text);
  for (const JsonFault& fault : tree.faults) {
    findings.add_error(fault.line, fault.path, fault.text);
  }
  if (!tree.root) {
    return std::nullopt;
  }
  if (tree.root->kind != JsonKind::object) {
    findings.add_error(tree.root->line, "",
                       "expected an object { }, found " + std::string(name_of(tree.root->kind)));
    return std::nullopt;
  }
  check_keys(*tree.root, job_file_keys(), "", findings);
  Job job = job_from_tree(*tree.root);
  const ObjectView root(&*tree.root);
  check_rooms_and_alerts(job, root, findings);
  check_boxes(job, root, findings);
  check_checkpoints(job, root, findings);
  check_telling(job, root, findings);
  read_flatness(root, job, findings);
  read_plans(root, job, findings);
  warn_about_job(job, root, findings);
  if (findings.has_errors()) {
    return std::nullopt;
  }
  for (JobBox& box : job.boxes) {
    std::sort(box.channels.begin(), box.channels.end(),
              [](const JobChannel& a, const JobChannel& b) { return a.index < b.index; });
  }
  return job;
}

}  // namespace

std::string text_of(const JobFinding& finding) {
  return finding.file + ":" + std::to_string(finding.line) + ": " +
         (finding.key.empty() ? "" : finding.key + ": ") + finding.text;
}

JobReading job_from_text(std::string_view text, const std::string& file_name) {
  Findings findings(file_name);
  JobReading reading;
  reading.job = checked_job(text, findings);
  reading.errors = findings.take_errors();
  reading.warnings = findings.take_warnings();
  reading.sha256_hex =
      analysis::evidence::hex_from_digest(analysis::evidence::sha256_from_bytes(text));
  return reading;
}

}  // namespace logger::app
