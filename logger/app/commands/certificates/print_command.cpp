// print: the pages of a certificate that somebody has, also of a redacted copy.
#include <ostream>

#include "analysis/certificate/verify.hpp"
#include "logger/app/commands/certificates/certificate_pages.hpp"
#include "logger/app/commands/certificates/issued_certificates.hpp"
#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/exit_status.hpp"

namespace logger::app {

using analysis::certificate::VerificationStatus;

namespace {

struct Output {
  path file;
  std::string DrawnPages::*bytes;
};

std::vector<Output> outputs_of(const PrintOptions& options) {
  if (options.pdf.empty() && options.html.empty()) {
    path beside = options.certificate;
    return {{beside.replace_extension(".pdf"), &DrawnPages::pdf},
            {beside.replace_extension(".html"), &DrawnPages::html}};
  }
  std::vector<Output> outputs;
  if (!options.pdf.empty()) {
    outputs.push_back({options.pdf, &DrawnPages::pdf});
  }
  if (!options.html.empty()) {
    outputs.push_back({options.html, &DrawnPages::html});
  }
  return outputs;
}

void print_successor(const PrintOptions& options,
                     const analysis::certificate::ReadCertificate& read, const Console& console) {
  const auto issued = certificates_in(std::filesystem::absolute(options.certificate).parent_path());
  const auto* successor = successor_of(issued, read.facts.number, read.sha256_hex);
  if (successor != nullptr) {
    console.out << "superseded   by " << successor->read.facts.number << ", "
                << successor->file.string() << '\n';
  }
}

}  // namespace

int print_certificate(const PrintOptions& options, const Console& console) {
  const auto bytes = read_file(options.certificate);
  if (!bytes) {
    return report(console, bytes.error());
  }
  analysis::certificate::VerifyInput input;
  input.certificate = bytes.value();
  const auto verification = analysis::certificate::verify_certificate(input);
  if (verification.status != VerificationStatus::intact_only || !verification.certificate) {
    console.err << "dwellog: " << options.certificate.string() << ": "
                << first_failure_of(verification) << "; no pages were drawn\n";
    return static_cast<int>(verification.status);
  }
  const std::vector<Output> outputs = outputs_of(options);
  std::error_code error;
  if (outputs.size() == 2 && outputs[0].file == outputs[1].file) {
    return refuse(console, "--pdf and --html name the same file, " + outputs[0].file.string());
  }
  for (const Output& output : outputs) {
    if (std::filesystem::exists(output.file, error)) {
      return refuse(console, output.file.string() + " is there already; nothing was written");
    }
  }
  const auto& read = *verification.certificate;
  const auto pages = draw_pages(read, page_options_from(options.letter, options.imperial));
  if (!pages) {
    return report(console, pages.error());
  }
  for (const Output& output : outputs) {
    if (const auto written = write_file(output.file, pages.value().*output.bytes, 0644); !written) {
      return report(console, written.error());
    }
    console.out << "pages        " << output.file.string() << '\n';
  }
  print_successor(options, read, console);
  console.out << "These pages prove nothing by themselves: verify the signed file, "
              << options.certificate.string() << '\n';
  return kExitDone;
}

}  // namespace logger::app
