// What verify says of time stamps: proved, claimed, or wrong, of the certificate's own anchor and
// of checkpoints that were kept elsewhere.
#include <sodium.h>

#include <catch2/catch.hpp>
#include <sstream>

#include "analysis/evidence/checkpoint.hpp"
#include "analysis/timestamp/stamp_reply.hpp"
#include "logger/verify/stamp_files.hpp"
#include "logger/verify/verify_files.hpp"
#include "tests/evidence/example_site.hpp"
#include "tests/timestamp/test_authority.hpp"

using namespace timestamp_tests;
using namespace analysis::certificate;
using analysis::evidence::sha256_from_bytes;
using Catch::Contains;

namespace {

const TestAuthority& authority() { return TestAuthority::instance(); }

// Invented roots; only their bytes matter here.
std::string checkpoint_of(std::uint64_t size, bool simulated = false) {
  return sign_checkpoint({size, sha256_from_bytes(std::to_string(size))}, simulated,
                         example::kStart, example::key())
      .value();
}

std::string stamp_of(const std::string& bytes, const std::string& signer = "tsa") {
  return authority().reply_to(
      analysis::timestamp::der_from_request({sha256_from_bytes(bytes), 1}).value(), signer);
}

std::string base64_from(const std::string& bytes) {
  std::string text(sodium_base64_encoded_len(bytes.size(), sodium_base64_VARIANT_ORIGINAL), '\0');
  sodium_bin2base64(text.data(), text.size(), reinterpret_cast<const unsigned char*>(bytes.data()),
                    bytes.size(), sodium_base64_VARIANT_ORIGINAL);
  text.pop_back();
  return text;
}

std::string without_line_end(std::string line) {
  line.pop_back();
  return line;
}

// An anchor over 8 entries in a certificate whose log has 20.
AnchorFacts good_anchor() {
  const std::string checkpoint = checkpoint_of(8, example::declared(3).simulated);
  const std::string reply = stamp_of(checkpoint);
  const auto stamp = analysis::timestamp::time_stamp_from_reply(reply).value();
  return {without_line_end(checkpoint), stamp.at, stamp.authority, base64_from(reply)};
}

std::string certificate_with(const std::optional<AnchorFacts>& anchor) {
  CertificateFacts facts = example::declared(3);
  facts.log = LogFacts{without_line_end(checkpoint_of(20, facts.simulated)), anchor, 0};
  return example::issue(facts, example::readings(3)).certificate;
}

struct Said {
  int status = -1;
  std::string text;
};

Said verify(const std::string& certificate, const std::vector<std::string>& authorities,
            const std::vector<std::string>& stamps = {}) {
  logger::verify::VerifyOptions options;
  options.certificate = authority().folder() / "certificate.json";
  options.key = authority().folder() / "certificate-key.pub";
  write_bytes(options.certificate, certificate);
  write_bytes(options.key, text_from_public_key(example::key().public_key()));
  for (const std::string& name : authorities) {
    options.authorities.push_back(authority().folder() / name);
  }
  for (const std::string& name : stamps) {
    options.stamps.push_back(authority().folder() / name);
  }
  std::ostringstream out;
  const int status = logger::verify::verify_files(options, {"dwellog", out, out});
  return {status, out.str()};
}

}  // namespace

TEST_CASE("An anchor is proved under the authority that the reader trusts") {
  const Said said = verify(certificate_with(good_anchor()), {"ca.pem"});
  INFO(said.text);
  CHECK(said.status == 0);
  CHECK_THAT(said.text,
             Contains("proved: time stamp: the first 8 entries of the log with the root") &&
                 Contains("stood like that at ") &&
                 Contains("(+-1500 ms) by CN=Stamper,O=Invented test authority"));
}

TEST_CASE("Without an authority the anchor's time is a claim") {
  const Said said = verify(certificate_with(good_anchor()), {});
  CHECK(said.status == 0);
  CHECK_THAT(said.text, Contains("not proved: time stamp: the first 8 entries") &&
                            Contains("is said to have stood like that at ") &&
                            Contains("no authority's certificate was given"));
}

TEST_CASE("A certificate without an anchor says that its times are self-declared") {
  const Said said = verify(certificate_with(std::nullopt), {"ca.pem"});
  CHECK(said.status == 0);
  CHECK_THAT(said.text, Contains("carries no time stamp, so its times are self-declared"));
}

TEST_CASE("An anchor whose token is wrong fails") {
  AnchorFacts anchor = good_anchor();
  std::string reason;
  std::string trusted = "ca.pem";
  SECTION("of another authority") {
    trusted = "other-ca.pem";
    reason = "does not lead to a given authority";
  }
  SECTION("of another checkpoint") {
    const std::string reply = stamp_of(checkpoint_of(9));
    anchor.token_base64 = base64_from(reply);
    reason = "which is not the checkpoint beside it";
  }
  SECTION("of the line without its end") {
    anchor.token_base64 = base64_from(stamp_of(anchor.checkpoint));
    reason = "which is not the checkpoint beside it";
  }
  SECTION("at another time than the certificate says") {
    anchor.stamped_at = example::kStart;
    reason = "log.anchor: the certificate says 2026-03-01T07:00:00Z";
  }
  SECTION("by another authority than the certificate says") {
    anchor.authority = "CN=Somebody";
    reason = "by CN=Somebody, the token says ";
  }
  SECTION("by an expired certificate") {
    anchor.token_base64 = base64_from(stamp_of(anchor.checkpoint + "\n", "expired"));
    reason = "had expired when it stamped";
  }
  SECTION("of a checkpoint of another key") {
    const auto foreign =
        sign_checkpoint({8, sha256_from_bytes("8")}, example::declared(3).simulated,
                        example::kStart, example::key(2))
            .value();
    anchor.checkpoint = without_line_end(foreign);
    anchor.token_base64 = base64_from(stamp_of(foreign));
    reason = "signed with the key " + fingerprint_of(example::key(2).public_key());
  }
  SECTION("no token at all") {
    anchor.token_base64 = base64_from("hello");
    reason = "neither a TimeStampResp nor a token";
  }
  const Said said = verify(certificate_with(anchor), {trusted});
  INFO(said.text);
  CHECK(said.status == 2);
  CHECK_THAT(said.text, Contains("FAILED: log.anchor: ") && Contains(reason));
}

TEST_CASE("A stamp belongs to the checkpoint that it is of") {
  const std::string five = checkpoint_of(5, example::declared(3).simulated);
  write_bytes(authority().folder() / "five.tsr", stamp_of(five));
  const auto stamps = logger::verify::stamps_from_files({authority().folder() / "ca.pem"},
                                                        {authority().folder() / "five.tsr"}, "");
  REQUIRE(stamps);
  VerifyInput input;
  const std::string certificate = certificate_with(std::nullopt);
  input.certificate = certificate;
  input.outside_key = example::key().public_key();
  input.stamps = stamps.value();
  input.earlier_checkpoints = {checkpoint_of(4), five};
  CHECK_THAT(example::lines_of(verify_certificate(input), LineKind::proved),
             Contains("time stamp: the first 5 entries of the log"));
  input.earlier_checkpoints = {checkpoint_of(4)};
  CHECK_THAT(example::lines_of(verify_certificate(input), LineKind::failed),
             Contains("five.tsr: it stamps ") && Contains("none of the checkpoints given"));
}

TEST_CASE("Files of authorities and stamps that are of no use are input errors") {
  const std::string certificate = certificate_with(std::nullopt);
  write_bytes(authority().folder() / "none.pem", "hello");
  const Said none = verify(certificate, {"none.pem"});
  CHECK(none.status == 1);
  CHECK_THAT(none.text, Contains("none.pem: no certificate in it"));
  CHECK(verify(certificate, {"absent.pem"}).status == 1);
  const Said alone = verify(certificate, {}, {"five.tsr"});
  CHECK(alone.status == 1);
  CHECK_THAT(alone.text, Contains("proves nothing without --authority"));
}
