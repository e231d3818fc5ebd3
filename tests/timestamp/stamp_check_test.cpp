// Reading and verifying time stamps: good ones, and each way in which one can be none.
#include "analysis/timestamp/stamp_check.hpp"

#include <catch2/catch.hpp>

#include "tests/timestamp/test_authority.hpp"

using namespace analysis::timestamp;
using namespace timestamp_tests;
using analysis::evidence::Sha256;
using analysis::evidence::sha256_from_bytes;
using Catch::Contains;

namespace {

constexpr const char* kData = "a line that was signed\n";
constexpr std::uint64_t kNonce = 0xfedcba9876543210ULL;

const TestAuthority& authority() { return TestAuthority::instance(); }

StampRequest request() { return {sha256_from_bytes(kData), kNonce}; }

std::string good_reply() {
  static const std::string reply = authority().reply_to(der_from_request(request()).value());
  return reply;
}

std::string fault_of(const std::string& reply, const std::string& pem) {
  const auto stamp = verified_time_stamp(reply, pem);
  return stamp ? "verified" : stamp.error().text;
}

bool is_one_line(const std::string& text) { return text.find('\n') == std::string::npos; }

}  // namespace

TEST_CASE("A good stamp verifies and says what it stamps, when and by whom") {
  const auto stamp = verified_time_stamp(good_reply(), authority().pem("ca"));
  REQUIRE(stamp);
  CHECK(stamp.value().digest == sha256_from_bytes(kData));
  CHECK(stamp.value().nonce == kNonce);
  CHECK(stamp.value().accuracy == analysis::base::Micros{1'500'000});
  CHECK(stamp.value().serial_hex.size() == 2);
  CHECK(stamp.value().authority == "CN=Stamper,O=Invented test authority");
  CHECK(check_answers(stamp.value(), request()));
}

TEST_CASE("The time is that which openssl shows") {
  const auto folder = authority().folder();
  write_bytes(folder / "shown.tsr", good_reply());
  const std::string shown =
      output_of("cd " + folder.string() +
                " && LC_ALL=C date -u +%Y-%m-%dT%H:%M:%SZ -d \"$(openssl ts -reply -in shown.tsr "
                "-text | sed -n 's/^Time stamp: //p')\"");
  const auto stamp = time_stamp_from_reply(good_reply());
  REQUIRE(stamp);
  CHECK(rfc3339_from_utc(stamp.value().at) + "\n" == shown);
}

TEST_CASE("A fraction of a second is read") {
  const std::string reply =
      authority().reply_to(der_from_request(request()).value(), "tsa", "fine");
  const auto folder = authority().folder();
  write_bytes(folder / "fine.tsr", reply);
  const std::string shown = output_of("cd " + folder.string() +
                                      " && openssl ts -reply -in fine.tsr -text | sed -n 's/^Time "
                                      "stamp: .*:[0-9]*\\([.][0-9]*\\) .*/\\1/p'");
  const auto stamp = verified_time_stamp(reply, authority().pem("ca"));
  REQUIRE(stamp);
  const std::string ours = rfc3339_from_utc(stamp.value().at);
  INFO(ours << " and " << shown);
  // ".25" there is ".250" here; no fraction at all where it happens to be zero.
  CHECK((shown.empty() || std::stod("0" + shown) * 1e6 ==
                              Approx(static_cast<double>(stamp.value().at.value % 1'000'000))));
}

TEST_CASE("A time that is none is refused") {
  const std::string moved =
      authority().token_signed_by(good_reply(), "past", "s/20[0-9]\\{12\\}Z/20241301120000Z/");
  CHECK_THAT(fault_of(moved, authority().pem("past")),
             Contains("its time `20241301120000Z` can't be read"));
}

TEST_CASE("A stamp answers only the request that it was made for") {
  const auto stamp = time_stamp_from_reply(good_reply()).value();
  const auto other_digest = check_answers(stamp, {sha256_from_bytes("another line\n"), kNonce});
  REQUIRE_FALSE(other_digest);
  CHECK_THAT(other_digest.error().text, Contains("it stamps ") && Contains(", expected "));
  const auto other_nonce = check_answers(stamp, {sha256_from_bytes(kData), kNonce + 1});
  REQUIRE_FALSE(other_nonce);
  CHECK_THAT(other_nonce.error().text, Contains("nonce"));
  CHECK(check_stamps(stamp, sha256_from_bytes(kData)));
}

TEST_CASE("A refusal is told in the authority's words") {
  std::string asked = der_from_request(request()).value();
  const std::string sha256_oid("\x60\x86\x48\x01\x65\x03\x04\x02\x01", 9);
  asked.replace(asked.find(sha256_oid) + 8, 1, "\x02");  // SHA-384
  const auto stamp = time_stamp_from_reply(authority().reply_to(asked));
  REQUIRE_FALSE(stamp);
  CHECK_THAT(stamp.error().text, Contains("not granted by the authority (status 2): ") &&
                                     Contains("digest not supported"));
  CHECK(is_one_line(stamp.error().text));
}

TEST_CASE("A stamp of another authority does not verify") {
  const std::string text = fault_of(good_reply(), authority().pem("other-ca"));
  CHECK_THAT(text,
             Contains("does not lead to a given authority") && Contains("Invented test authority"));
  CHECK(is_one_line(text));
  CHECK(fault_of(good_reply(), authority().pem("other-ca") + authority().pem("ca")) == "verified");
}

TEST_CASE("The signer's own certificate can be the one that is trusted") {
  CHECK(fault_of(good_reply(), authority().pem("tsa")) == "verified");
}

TEST_CASE("A certificate that had expired when it stamped proves nothing") {
  const std::string reply = authority().reply_to(der_from_request(request()).value(), "expired");
  CHECK_THAT(fault_of(reply, authority().pem("ca")),
             Contains("CN=Expired stamper") && Contains("had expired when it stamped"));
}

TEST_CASE("A certificate that expired since takes nothing from its stamps") {
  // Signer of 2024 to 2025, stamps of the middle of 2024 and of the year before.
  const std::string inside =
      authority().token_signed_by(good_reply(), "past", "s/20[0-9]\\{12\\}Z/20240601120000Z/");
  CHECK(fault_of(inside, authority().pem("ca")) == "verified");
  const std::string before =
      authority().token_signed_by(good_reply(), "past", "s/20[0-9]\\{12\\}Z/20230601120000Z/");
  CHECK_THAT(fault_of(before, authority().pem("ca")), Contains("was not valid yet"));
}

TEST_CASE("A certificate that is not made for time stamps proves nothing") {
  const std::string token = authority().token_signed_by(good_reply(), "plain");
  CHECK_THAT(fault_of(token, authority().pem("ca")),
             Contains("CN=No stamper") && Contains("is not made for time stamps"));
  // The way of making it is sound: the same content under a stamper's certificate verifies.
  CHECK(fault_of(authority().token_signed_by(good_reply(), "tsa"), authority().pem("ca")) ==
        "verified");
}

TEST_CASE("A signature over a weak digest is refused") {
  const std::string token = authority().token_signed_by(good_reply(), "tsa", "", "sha1");
  CHECK_THAT(fault_of(token, authority().pem("ca")), Contains("no longer counts as strong"));
}

TEST_CASE("Something else that is signed is no time stamp") {
  const auto folder = authority().folder();
  run("cd " + folder.string() +
      " && echo hello >hello.txt && openssl cms -sign -binary -nodetach -in hello.txt -signer "
      "tsa.pem -inkey tsa.key -outform DER -out hello.der");
  CHECK_THAT(fault_of(bytes_of(folder / "hello.der"), authority().pem("ca")),
             Contains("no time stamp"));
}

TEST_CASE("Bytes that are no time stamp are refused in one line") {
  const std::string reply = good_reply();
  for (const std::string& bytes :
       {std::string(), std::string("\0", 1), std::string("hello"), reply + "x",
        reply.substr(0, reply.size() - 1), std::string(kMostReplyBytes + 1, '0')}) {
    const auto stamp = time_stamp_from_reply(bytes);
    REQUIRE_FALSE(stamp);
    CHECK(is_one_line(stamp.error().text));
  }
  const std::string token = authority().token_signed_by(reply, "tsa");
  CHECK(time_stamp_from_reply(token));
  CHECK_FALSE(time_stamp_from_reply(token + "x"));
  CHECK_THAT(time_stamp_from_reply(std::string(kMostReplyBytes + 1, '0')).error().text,
             Contains("65537 bytes; expected at most 65536"));
}

TEST_CASE("No truncation and no changed byte of a stamp verifies as something else") {
  const std::string reply = good_reply();
  const std::string pem = authority().pem("ca");
  const auto good = verified_time_stamp(reply, pem).value();
  for (std::size_t size = 0; size < reply.size(); ++size) {
    INFO("cut at " << size);
    CHECK_FALSE(verified_time_stamp(reply.substr(0, size), pem));
  }
  std::size_t verified = 0;
  for (std::size_t at = 0; at < reply.size(); ++at) {
    std::string changed = reply;
    changed[at] = static_cast<char>(changed[at] ^ 1);
    const auto stamp = verified_time_stamp(changed, pem);
    if (!stamp) {
      CHECK(is_one_line(stamp.error().text));
      continue;
    }
    // Nothing that a stamp says may change; the few bytes outside the signature (a status of
    // granted with modifications) may.
    ++verified;
    INFO("byte " << at);
    CHECK(stamp.value().digest == good.digest);
    CHECK(stamp.value().at == good.at);
    CHECK(stamp.value().nonce == good.nonce);
    CHECK(stamp.value().serial_hex == good.serial_hex);
    CHECK(stamp.value().authority == good.authority);
  }
  CHECK(verified < reply.size() / 20);
}

TEST_CASE("Certificates of authorities are read whole or refused") {
  CHECK(check_authorities(authority().pem("ca")));
  CHECK(check_authorities("a remark\n" + authority().pem("ca") + authority().pem("other-ca")));
  CHECK_THAT(check_authorities("").error().text, Contains("no certificate in it"));
  CHECK_THAT(check_authorities("hello").error().text, Contains("no certificate in it"));
  std::string broken = authority().pem("other-ca");
  broken.insert(100, "!");
  CHECK_THAT(check_authorities(authority().pem("ca") + broken).error().text,
             Contains("certificate 2 of it can't be read"));
  CHECK_THAT(fault_of(good_reply(), ""), Contains("no certificate in it"));
}
