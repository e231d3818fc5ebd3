// Requests as RFC 3161 writes them, by openssl's reading and by hand.
#include "analysis/timestamp/stamp_request.hpp"

#include <catch2/catch.hpp>

#include "tests/timestamp/test_authority.hpp"

using namespace analysis::timestamp;
using namespace timestamp_tests;

namespace {

std::string hex_of(const std::string& bytes) {
  return analysis::evidence::hex_from_bytes(
      {reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
}

}  // namespace

TEST_CASE("A request is the bytes that RFC 3161 asks for, worked out by hand") {
  const auto digest = analysis::evidence::sha256_from_bytes("abc");
  const auto der = der_from_request({digest, 0x0102030405060708ULL});
  REQUIRE(der);
  // SEQUENCE { INTEGER 1, SEQUENCE { SEQUENCE { OID sha-256, NULL }, OCTET STRING }, INTEGER, TRUE
  // }
  CHECK(hex_of(der.value()) ==
        "3043020101"
        "3031300d060960864801650304020105000420"
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        "02080102030405060708"
        "0101ff");
}

TEST_CASE("A nonce with its highest bit set stays positive") {
  const auto der = der_from_request({analysis::evidence::sha256_from_bytes("abc"), ~0ULL});
  REQUIRE(der);
  CHECK(hex_of(der.value()).ends_with("020900ffffffffffffffff0101ff"));
}

TEST_CASE("openssl reads our request as what it is") {
  const auto folder = TestAuthority::instance().folder();
  const auto der = der_from_request({analysis::evidence::sha256_from_bytes("abc"), 258});
  REQUIRE(der);
  write_bytes(folder / "ours.tsq", der.value());
  const std::string text =
      output_of("openssl ts -query -in " + (folder / "ours.tsq").string() + " -text");
  CHECK(text.find("Version: 1") != std::string::npos);
  CHECK(text.find("Hash Algorithm: sha256") != std::string::npos);
  CHECK(text.find("0x0102") != std::string::npos);
  CHECK(text.find("Certificate required: yes") != std::string::npos);
}
