// Writes the sample certificates as PDF and HTML into a folder, to be looked at: draw_sample_pages
// FOLDER.
#include <fstream>
#include <iostream>
#include <string>

#include "analysis/certificate/html/html_page.hpp"
#include "analysis/certificate/pages.hpp"
#include "tests/drawing/pages_fixture.hpp"

namespace {

using analysis::certificate::CertificateFacts;
using analysis::certificate::PageOptions;
using analysis::certificate::Paper;
using analysis::certificate::Units;

bool write_sample(const std::string& path, const CertificateFacts& facts,
                  const PageOptions& options) {
  const auto pdf =
      analysis::certificate::draw_certificate_pdf(facts, tests::kInventedDigest, options);
  if (!pdf) {
    std::cerr << path << ": " << analysis::certificate::text_of(pdf.error()) << "\n";
    return false;
  }
  const auto html =
      analysis::certificate::draw_certificate_html(facts, tests::kInventedDigest, options);
  if (!html) {
    std::cerr << path << ": " << analysis::certificate::text_of(html.error()) << "\n";
    return false;
  }
  std::ofstream(path + ".pdf", std::ios::binary) << pdf.value();
  std::ofstream(path + ".html", std::ios::binary) << html.value();
  return true;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) {
    std::cerr << "usage: draw_sample_pages FOLDER\n";
    return 1;
  }
  const std::string folder = std::string(argv[1]) + "/";
  const CertificateFacts ready = tests::invented_facts();
  CertificateFacts simulated = ready;
  simulated.simulated = true;
  CertificateFacts unknown = ready;
  unknown.assessment.verdict = analysis::readiness::Verdict::cannot_tell;
  const CertificateFacts long_facts = tests::invented_facts_with_much_to_say();
  CertificateFacts long_simulated = long_facts;
  long_simulated.simulated = true;
  CertificateFacts laid = ready;
  laid.laying = {laid.period.to - std::chrono::hours(30),
                 laid.period.to - std::chrono::hours(4),
                 {{{"1-2", analysis::base::Metres{0.008}}, {"", analysis::base::Metres{0.012}}},
                  {{"door to the hall", "T-moulding"}},
                  31,
                  analysis::base::Metres{0.12},
                  21,
                  1}};
  const bool written =
      write_sample(folder + "ready", ready, {}) && write_sample(folder + "laid", laid, {}) &&
      write_sample(folder + "hostile", tests::hostile_facts(), {}) &&
      write_sample(folder + "simulated", simulated, {}) &&
      write_sample(folder + "cannot-tell-letter", unknown, {Paper::letter, Units::imperial}) &&
      write_sample(folder + "long", long_facts, {}) &&
      write_sample(folder + "long-letter", long_simulated, {Paper::letter, Units::imperial});
  return written ? 0 : 4;
}
