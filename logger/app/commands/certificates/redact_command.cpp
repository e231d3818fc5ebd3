// redact: a copy of a certificate without names or address, that still verifies.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <ostream>
#include <set>

#include "analysis/certificate/certificate_json.hpp"
#include "analysis/certificate/verify.hpp"
#include "logger/app/commands/certificates/issued_certificates.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

using analysis::certificate::RedactableField;
using analysis::certificate::VerificationStatus;
using store::ErrorCode;

namespace {

// A copy of what is not intact would carry somebody's alteration on.
int refuse_broken(const RedactOptions& options,
                  const analysis::certificate::Verification& verification, const Console& console) {
  console.err << "dwellog: " << options.certificate.string() << ": "
              << first_failure_of(verification) << "; nothing was written\n";
  return static_cast<int>(verification.status);
}

void print_list(const std::vector<RedactableField>& fields, std::ostream& out) {
  for (const RedactableField& field : fields) {
    out << field.path << (field.personal ? " (person or place)" : " (wording)");
    out << (field.redacted ? ": redacted already" : ": " + nlohmann::json(field.text).dump())
        << '\n';
  }
}

// Where a text that was taken out still stands in the copy, as in the wording of a gate.
void print_leftovers(const std::string& copy, const std::vector<RedactableField>& taken_out,
                     std::ostream& out) {
  constexpr std::size_t kShortest = 3;  // shorter texts stand everywhere by chance
  const nlohmann::json facts = nlohmann::json::parse(copy).at("facts");
  for (const auto& [path, fact] : facts.items()) {
    const std::string value = fact.at("value").dump();
    for (const RedactableField& field : taken_out) {
      const std::string quoted = nlohmann::json(field.text).dump();
      const std::string text = quoted.substr(1, quoted.size() - 2);
      if (text.size() >= kShortest && value.find(text) != std::string::npos) {
        out << "worth a look: " << quoted << " of " << field.path << " still stands in " << path
            << (analysis::certificate::is_redactable(path) ? "" : ", which can't be redacted")
            << '\n';
      }
    }
  }
}

std::set<std::string> paths_to_take(const RedactOptions& options,
                                    const std::vector<RedactableField>& fields) {
  std::set<std::string> paths(options.paths.begin(), options.paths.end());
  for (const RedactableField& field : fields) {
    if (options.personal && field.personal && !field.redacted) {
      paths.insert(field.path);
    }
  }
  return paths;
}

int write_copy(const RedactOptions& options, const std::string& bytes,
               const std::vector<RedactableField>& fields, const Console& console) {
  const std::set<std::string> paths = paths_to_take(options, fields);
  if (paths.empty()) {
    return refuse(console, options.certificate.string() +
                               ": names nothing to take out; give paths of `redact --list`, or "
                               "--personal where there is something personal left");
  }
  const auto copy = analysis::certificate::redact_certificate(bytes, {paths.begin(), paths.end()});
  if (!copy) {
    return refuse(
        console, options.certificate.string() + ": " + copy.error().text + "; nothing was written");
  }
  if (const auto written = write_file(options.output, copy.value(), 0644); !written) {
    return report(console, written.error());
  }
  std::vector<RedactableField> taken_out;
  std::ranges::copy_if(fields, std::back_inserter(taken_out),
                       [&](const RedactableField& field) { return paths.contains(field.path); });
  for (const RedactableField& field : taken_out) {
    console.out << "redacted     " << field.path << '\n';
  }
  print_leftovers(copy.value(), taken_out, console.out);
  console.out
      << "copy         " << options.output.string() << '\n'
      << "The PDF and HTML of the certificate still show what was taken out: they do not go "
         "with the copy. `dwellog print` draws pages of the copy.\n";
  return kExitDone;
}

}  // namespace

int redact(const RedactOptions& options, const Console& console) {
  const bool takes = options.personal || !options.paths.empty();
  if (options.list == takes || options.list == !options.output.empty()) {
    return refuse(
        console, "redact: expected either --list, or -o COPY with paths to take out or --personal");
  }
  const auto bytes = read_file(options.certificate);
  if (!bytes) {
    return report(console, bytes.error());
  }
  std::error_code error;
  if (!options.list && std::filesystem::exists(options.output, error)) {
    return refuse(console, options.output.string() + " is there already; nothing was written");
  }
  analysis::certificate::VerifyInput input;
  input.certificate = bytes.value();
  const auto verification = analysis::certificate::verify_certificate(input);
  if (verification.status != VerificationStatus::intact_only) {
    return refuse_broken(options, verification, console);
  }
  const auto fields = analysis::certificate::redactable_fields(bytes.value());
  if (!fields) {
    return refuse(console, options.certificate.string() + ": " + fields.error().text);
  }
  if (options.list) {
    print_list(fields.value(), console.out);
    return kExitDone;
  }
  return write_copy(options, bytes.value(), fields.value(), console);
}

}  // namespace logger::app
