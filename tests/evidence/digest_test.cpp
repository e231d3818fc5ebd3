#include "analysis/evidence/digest.hpp"

#include <catch2/catch.hpp>

#include "analysis/evidence/sodium_digest.hpp"

using namespace analysis::evidence;

// Source: FIPS 180-4 examples (from memory), the empty one also RFC 9162's empty tree.
TEST_CASE("Sha256GivesThePublishedDigests") {
  CHECK(hex_from_digest(sha256_from_bytes("")) ==
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  CHECK(hex_from_digest(sha256_from_bytes("abc")) ==
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

// Whichever library the build hashes with: every length around the blocks of 64 bytes, in parts.
TEST_CASE("BothLibrariesHashAlike") {
  std::string bytes;
  for (int length = 0; length < 300; ++length) {
    const std::string_view whole = bytes;
    const std::size_t cut = whole.size() / 3;
    INFO(length);
    const Sha256 expected = sodium_sha256_from_parts({whole});
    CHECK(sha256_from_bytes(whole) == expected);
    CHECK(sha256_from_parts({whole.substr(0, cut), "", whole.substr(cut)}) == expected);
    bytes += static_cast<char>(length * 7);
  }
}

TEST_CASE("DigestTextHasOneSpelling") {
  const Sha256 digest = sha256_from_bytes("abc");
  const std::string hex = hex_from_digest(digest);
  CHECK(digest_from_hex(hex) == digest);
  CHECK_FALSE(digest_from_hex("BA" + hex.substr(2)));
  CHECK_FALSE(digest_from_hex(hex.substr(1)));
  CHECK_FALSE(digest_from_hex(hex + "00"));
  CHECK_FALSE(digest_from_hex("g" + hex.substr(1)));
  CHECK_FALSE(digest_from_hex(""));
}
