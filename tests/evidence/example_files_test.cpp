// The files of docs/certificate-format.md's example. They pin the format: a program that no longer
// proves them has changed it.
#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>

#include "analysis/certificate/verify.hpp"
#include "tests/evidence/example_site.hpp"

using namespace analysis::certificate;

namespace {

const std::string kFolder = "tests/evidence/example/";

std::string text_of(const std::string& name) {
  std::ifstream file(kFolder + name, std::ios::binary);
  REQUIRE(file.is_open());
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

}  // namespace

TEST_CASE("TheExampleOfTheFormatIsStillProved") {
  const std::string certificate = text_of("certificate.json");
  const std::string readings = text_of("readings.csv");
  const auto key = analysis::evidence::public_key_from_text(text_of("certificate-key.pub"));
  REQUIRE(key);
  VerifyInput input{certificate, key.value(), byte_source_from(readings), "another version"};
  const Verification v = verify_certificate(input);
  CHECK(example::lines_of(v, LineKind::failed) == "");
  CHECK(v.status == VerificationStatus::proved);
}
