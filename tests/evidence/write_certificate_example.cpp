// write_certificate_example: writes tests/evidence/example anew, from the project's root; for a
// change of the format only, with a reason in the commit.
// write_certificate_example FOLDER: writes the same files there, and two certificates more: one
// with everything that may be left out, and its copy without names.
#include <fstream>
#include <iostream>

#include "analysis/evidence/checkpoint.hpp"
#include "tests/evidence/example_site.hpp"

namespace {

using namespace analysis;

// Every limit, member and list that the short example lacks.
example::CertificateFacts everything() {
  example::CertificateFacts facts = example::declared();
  facts.slab_poured_at = example::kStart - std::chrono::hours(24 * 90);
  auto& required = facts.requirements;
  required.wood_subfloor_high = {base::MoistureContent{0.12}, "invented"};
  readiness::SlabRequirements slab;
  slab.probes_at_least = {3, "invented"};
  slab.service_conditions = {std::chrono::hours(48), "invented"};
  slab.emission_high = {readiness::EmissionRate{0.0015}, "invented"};
  slab.carbide_high = {readiness::carbide_from_percent(2.0), "invented"};
  required.slab = slab;
  required.rh_high.value = base::RelativeHumidity{0.53};  // so that there are excursions
  facts.instruments[0].channel.scale.value_at_zero = 0.5;
  facts.instruments[0].channel.scale.frozen_after = std::chrono::hours(6);
  facts.lost_records = {{"box-1", 1, 20, 21, "overflow"}};
  facts.subfloor_tests.rh = example::probe_test();
  const std::string digest(64, 'a');
  facts.supersedes =
      certificate::SupersededFacts{"room-1-0", digest, "a channel was named wrongly"};
  facts.laying = {example::kStart + std::chrono::hours(2),
                  example::kStart + std::chrono::hours(3),
                  {{{"1-2", base::Metres{0.008}}}, {{"door", "T"}}, 31, base::Metres{0.12}, 21, 1}};
  facts.placements = {{"core-t", example::kStart, "Fitter E", "third carton from below"}};
  facts.photos = {{"placement.core-t", example::kStart, digest, 123456}};
  const auto line_at = [](std::uint64_t size) {
    std::string line = evidence::sign_checkpoint({size, evidence::sha256_from_bytes("invented")},
                                                 true, example::kStart, example::key())
                           .value();
    line.pop_back();
    return line;
  };
  facts.log = certificate::LogFacts{
      line_at(200),
      certificate::AnchorFacts{line_at(100), example::kStart, "Example authority", "MAA="}, 10};
  return facts;
}

std::vector<example::Reading> readings_with_a_hole() {
  auto readings = example::readings();
  readings.erase(readings.begin() + 19, readings.begin() + 21);
  return readings;
}

}  // namespace

int main(int argc, char** argv) {
  const std::string folder = argc > 1 ? std::string(argv[1]) + "/" : "tests/evidence/example/";
  const auto write = [&](const char* name, const std::string& text) {
    std::ofstream file(folder + name, std::ios::binary);
    file << text;
    return static_cast<bool>(file);
  };
  const auto issued = example::issue(example::declared(3), example::readings(3));
  bool written =
      write("certificate.json", issued.certificate) &&
      write("readings.csv", issued.readings_text) &&
      write("certificate-key.pub", evidence::text_from_public_key(example::key().public_key()));
  if (argc > 1) {
    const auto full = example::issue(everything(), readings_with_a_hole());
    const auto paths = certificate::personal_paths(full.certificate).value();
    written = written && write("certificate-full.json", full.certificate) &&
              write("certificate-redacted.json",
                    certificate::redact_certificate(full.certificate, paths).value());
  }
  std::cout << (written ? "written\n" : "run this from the project's root\n");
  return written ? 0 : 1;
}
