// A newer certificate takes the place of an older one only by number, SHA-256 and key.
#include <catch2/catch.hpp>

#include "analysis/evidence/handover.hpp"
#include "tests/evidence/example_site.hpp"

namespace {

using namespace analysis;
using certificate::LineKind;

const std::string& older_text() {
  static const std::string text =
      example::issue(example::declared(3), example::readings(3)).certificate;
  return text;
}

std::string sha256_of(const std::string& text) {
  return evidence::hex_from_digest(evidence::sha256_from_bytes(text));
}

std::string newer_text(const evidence::SigningKey& key, const std::string& number,
                       const std::string& sha256_hex, int hours_later = 1) {
  auto facts = example::issue(example::declared(3), example::readings(3)).facts;
  facts.number = "room-1-2";
  facts.issued_at = facts.issued_at + std::chrono::hours(hours_later);
  facts.supersedes = certificate::SupersededFacts{number, sha256_hex, "the client was wrong"};
  return certificate::issue_certificate(facts, key).value();
}

struct Given {
  std::vector<std::string> newer;
  std::vector<std::string> handovers{};
  std::string older = older_text();
};

example::Verification verified(const Given& given) {
  certificate::VerifyInput input;
  input.certificate = given.older;
  input.outside_key = example::key().public_key();
  input.software = example::kSoftware;
  input.newer = given.newer;
  input.handovers = given.handovers;
  return certificate::verify_certificate(input);
}

std::string lines_of(const Given& given, LineKind kind) {
  return example::lines_of(verified(given), kind);
}

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

const std::string kSuperseded = "SUPERSEDED: certificate room-1-2";

}  // namespace

TEST_CASE("ANewerCertificateOfTheSameKeySupersedesAndTheOlderStaysProved") {
  const Given given{{newer_text(example::key(), "room-1-1", sha256_of(older_text()))}};
  CHECK(verified(given).status == certificate::VerificationStatus::proved);
  const std::string proved = lines_of(given, LineKind::proved);
  CHECK(holds(proved, kSuperseded));
  CHECK(holds(proved, "the client was wrong"));
}

TEST_CASE("AnotherNumberOrDigestSupersedesNothing") {
  const Given other_number{{newer_text(example::key(), "room-1-7", sha256_of(older_text()))}};
  CHECK_FALSE(holds(lines_of(other_number, LineKind::proved), kSuperseded));
  CHECK(holds(lines_of(other_number, LineKind::note), "does not take the place of this one"));
  const Given other_bytes{{newer_text(example::key(), "room-1-1", std::string(64, 'a'))}};
  CHECK_FALSE(holds(lines_of(other_bytes, LineKind::proved), kSuperseded));
  CHECK(holds(lines_of(other_bytes, LineKind::unproved), "with other bytes"));
}

TEST_CASE("OfARedactedCopyItIsSaidWhyTheDigestDiffers") {
  Given given{{newer_text(example::key(), "room-1-1", sha256_of(older_text()))}};
  given.older = certificate::redact_certificate(older_text(), {"parties.client"}).value();
  CHECK_FALSE(holds(lines_of(given, LineKind::proved), kSuperseded));
  CHECK(holds(lines_of(given, LineKind::unproved), "this is a redacted copy"));
}

TEST_CASE("AStrangersKeySupersedesNothingAndAKeyThatWasHandedToDoes") {
  Given given{{newer_text(example::key(9), "room-1-1", sha256_of(older_text()), 3)}};
  CHECK_FALSE(holds(lines_of(given, LineKind::proved), kSuperseded));
  CHECK(holds(lines_of(given, LineKind::unproved), "no hand-over given leads to it"));
  const auto issued_at = example::issue(example::declared(3), example::readings(3)).facts.issued_at;
  given.handovers = {
      evidence::handover_text(example::key(), example::key(9), issued_at + std::chrono::hours(2), 1)
          .value()};
  CHECK(holds(lines_of(given, LineKind::proved), kSuperseded));
}

TEST_CASE("AnAlteredOrEarlierNewerCertificateFails") {
  std::string altered = newer_text(example::key(), "room-1-1", sha256_of(older_text()));
  altered.replace(altered.find("the client was wrong"), 10, "the Client");
  CHECK(verified({{altered}}).status == certificate::VerificationStatus::not_proved);
  CHECK(holds(lines_of({{altered}}, LineKind::failed), "not an intact one"));
  auto facts = example::issue(example::declared(4), example::readings(4)).facts;
  facts.number = "room-1-1";
  const std::string late = certificate::issue_certificate(facts, example::key()).value();
  Given given{{newer_text(example::key(), "room-1-1", sha256_of(late), 0)}};
  given.older = late;
  CHECK(holds(lines_of(given, LineKind::failed), "is older than the one it takes the place of"));
}
