// Tokens over HTTP from an authority on loopback that answers well, wrongly, late or not at all.
#include "logger/anchor/token_fetch.hpp"

#include <catch2/catch.hpp>
#include <cstdlib>

#include "tests/timestamp/test_authority.hpp"

using namespace logger::anchor;
using namespace timestamp_tests;
using analysis::evidence::sha256_from_bytes;
using Catch::Contains;
using logger::store::ErrorCode;
using logger::store::Result;

namespace {

constexpr const char* kData = "a line that was signed\n";

const TestServer& server() {
  ::setenv("no_proxy", "127.0.0.1", 1);
  static const TestServer one;
  return one;
}

Result<FetchedToken> fetch(const std::string& path, const std::string& ca = "ca",
                           HttpLimits limits = {}) {
  const std::string pem = ca.empty() ? "" : TestAuthority::instance().pem(ca);
  return fetch_token({server().url(path), pem, limits}, {sha256_from_bytes(kData), 4711});
}

std::string fault_of(const std::string& path, const std::string& ca = "ca",
                     HttpLimits limits = {}) {
  const auto token = fetch(path, ca, limits);
  if (token) {
    return "fetched";
  }
  CHECK(token.error().context.find('\n') == std::string::npos);
  CHECK(token.error().context.starts_with(server().url(path) + ": "));
  return token.error().context;
}

}  // namespace

TEST_CASE("A token that was fetched is accepted by openssl as it is") {
  const auto token = fetch("/good");
  REQUIRE(token);
  const auto folder = TestAuthority::instance().folder();
  write_bytes(folder / "kept.tsr", token.value().reply_der);
  write_bytes(folder / "data.json", kData);
  CHECK_THAT(output_of("cd " + folder.string() +
                       " && openssl ts -verify -in kept.tsr -data data.json -CAfile ca.pem"),
             Contains("Verification: OK"));
  std::string said;
  write_bytes(folder / "data.json", "another line that was signed\n");
  CHECK(status_of("cd " + folder.string() +
                      " && openssl ts -verify -in kept.tsr -data data.json -CAfile ca.pem",
                  said) != 0);
}

TEST_CASE("The request says what it is, and is small") {
  REQUIRE(fetch("/good"));
  CHECK_THAT(bytes_of(TestAuthority::instance().folder() / "requests.log"),
             Contains("/good application/timestamp-query "));
}

TEST_CASE("Without certificates a token is taken as it says") {
  CHECK(fetch("/other", ""));
  CHECK_THAT(fault_of("/other", "ca"), Contains("does not lead to a given authority"));
}

TEST_CASE("What is no answer to the request is refused") {
  CHECK_THAT(fault_of("/refused"), Contains("not granted by the authority"));
  CHECK_THAT(fault_of("/wrong-digest"), Contains("it stamps 0000"));
  CHECK_THAT(fault_of("/wrong-nonce"), Contains("nonce"));
  CHECK_THAT(fault_of("/expired"), Contains("had expired"));
  CHECK_THAT(fault_of("/garbage"), Contains("neither a TimeStampResp nor a token"));
  CHECK_THAT(fault_of("/empty"), Contains("0 bytes are neither"));
}

TEST_CASE("Answers of another kind, with another status or too long are refused") {
  CHECK_THAT(fault_of("/type"), Contains("of type `text/html`, expected `application/timestamp-"
                                         "reply`"));
  CHECK_THAT(fault_of("/error"), Contains("HTTP status 500"));
  CHECK_THAT(fault_of("/long"), Contains("longer than 65536 bytes"));
}

TEST_CASE("A slow authority is given up after the limit") {
  const auto token = fetch("/slow", "ca", {std::chrono::milliseconds(300)});
  REQUIRE_FALSE(token);
  CHECK(token.error().code == ErrorCode::timeout);
  CHECK_THAT(token.error().context, Contains("no whole answer within 300 ms"));
}

TEST_CASE("A redirection is followed to HTTP, never to a file") {
  CHECK(fetch("/redirect"));
  CHECK_THAT(fault_of("/to-file"), Contains("Protocol \"file\""));
}

TEST_CASE("Nobody at the address, and an address of another kind") {
  ::setenv("no_proxy", "127.0.0.1", 1);
  const analysis::timestamp::StampRequest request{sha256_from_bytes(kData), 1};
  const auto nobody = fetch_token({"http://127.0.0.1:1/", "", {}}, request);
  REQUIRE_FALSE(nobody);
  CHECK(nobody.error().code == ErrorCode::unavailable);
  const auto file = fetch_token({"file:///etc/hostname", "", {}}, request);
  REQUIRE_FALSE(file);
  CHECK(file.error().code == ErrorCode::invalid_input);
}

TEST_CASE("A fetch ends when it is told to") {
  std::stop_source stop;
  stop.request_stop();
  const auto token =
      fetch_token({server().url("/slow"), "", {}}, {sha256_from_bytes(kData), 1}, stop.get_token());
  REQUIRE_FALSE(token);
  CHECK_THAT(token.error().context, Contains("stopped before it answered"));
}
