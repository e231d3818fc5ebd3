#include "analysis/evidence/signing_key.hpp"

#include <catch2/catch.hpp>
#include <type_traits>
#include <vector>

#include "analysis/evidence/digest.hpp"
#include "tests/evidence/test_values.hpp"

using namespace analysis::evidence;

using evidence_tests::bytes_of_hex;

namespace {

SigningKey key_from_hex(const std::string& seed_hex) {
  SecretBytes seed;
  REQUIRE(bytes_from_hex(seed_hex, seed.span()));
  return SigningKey(std::move(seed));
}

struct Vector {
  std::string seed, public_key, message, signature;
};

// Source: RFC 8032 section 7.1, tests 1 to 3.
const std::vector<Vector> kVectors = {
    {"9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
     "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a", "",
     "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9"
     "b46bd25bf5f0595bbe24655141438e7a100b"},
    {"4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
     "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c", "72",
     "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f1"
     "1d8c387b2eaeb4302aeeb00d291612bb0c00"},
    {"c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
     "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025", "af82",
     "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984d"
     "c6594a7c15e9716ed28dc027beceea1ec40a"}};

}  // namespace

TEST_CASE("SignaturesAreThePublishedOnes") {
  for (const Vector& v : kVectors) {
    const SigningKey key = key_from_hex(v.seed);
    CHECK(hex_from_bytes(key.public_key().bytes) == v.public_key);
    const std::string message = bytes_of_hex(v.message);
    const Signature signature = key.sign(message);
    CHECK(hex_from_bytes(signature.bytes) == v.signature);
    CHECK(signature_is_valid(key.public_key(), message, signature));
  }
}

TEST_CASE("EveryFlippedBitOfASignatureIsRefused") {
  const SigningKey key = key_from_hex(kVectors[2].seed);
  const Signature good = key.sign("message");
  for (std::size_t bit = 0; bit < 8 * good.bytes.size(); ++bit) {
    Signature bad = good;
    bad.bytes[bit / 8] = static_cast<std::uint8_t>(bad.bytes[bit / 8] ^ (1U << (bit % 8)));
    CHECK_FALSE(signature_is_valid(key.public_key(), "message", bad));
  }
  CHECK_FALSE(signature_is_valid(key.public_key(), "messagf", good));
  CHECK_FALSE(signature_is_valid(key_from_hex(kVectors[1].seed).public_key(), "message", good));
}

// A key of small order makes one signature fit many messages: with A the neutral element, R = B
// and S = 1 satisfy S B = R + h A for every message. Source: RFC 8032 sections 5.1 and 5.1.7.
TEST_CASE("SmallOrderKeysAreRefused") {
  PublicKey neutral;
  neutral.bytes[0] = 1;
  Signature fits_all;
  REQUIRE(bytes_from_hex("5866666666666666666666666666666666666666666666666666666666666666",
                         std::span(fits_all.bytes).first<32>()));
  fits_all.bytes[32] = 1;
  CHECK_FALSE(signature_is_valid(neutral, "any", fits_all));
  CHECK_FALSE(signature_is_valid(PublicKey{}, "any", fits_all));
}

TEST_CASE("KeyFilesReadBackAndHaveOneSpelling") {
  const SigningKey key = key_from_hex(kVectors[0].seed);
  const std::string secret = key.secret_text();
  CHECK(secret == "dwellog-secret-seed-1 " + kVectors[0].seed + "\n");
  CHECK(signing_key_from_text(secret).value().public_key() == key.public_key());
  const std::string text = text_from_public_key(key.public_key());
  CHECK(text == "dwellog-public-key-1 " + kVectors[0].public_key + "\n");
  CHECK(public_key_from_text(text).value() == key.public_key());
  CHECK(public_key_from_text(text.substr(0, text.size() - 1)).value() == key.public_key());
  for (const std::string& bad :
       {text + "\n", " " + text, secret, text.substr(0, text.size() - 2), std::string(),
        "dwellog-public-key-1 D7" + text.substr(23), "dwellog-public-key-2" + text.substr(20)}) {
    CAPTURE(bad);
    CHECK_FALSE(public_key_from_text(bad));
  }
  const auto refused = signing_key_from_text("dwellog-secret-seed-1 " + kVectors[0].seed + "0");
  REQUIRE_FALSE(refused);
  CHECK(refused.error().text.find("9d61") == std::string::npos);
}

TEST_CASE("SecretsAreWipedAndNeverCopied") {
  static_assert(!std::is_copy_constructible_v<SigningKey>);
  static_assert(!std::is_copy_constructible_v<SecretBytes>);
  SecretBytes seed;
  seed.span()[0] = 7;
  const SecretBytes taken = std::move(seed);
  CHECK(taken.span()[0] == 7);
  CHECK(seed.span()[0] == 0);  // what was moved from is wiped
  std::string text = "secret";
  wipe(text);
  CHECK(text.empty());
}

// Source: computed with the HMAC of another library (Python's hmac module): 32 zero bytes as key,
// the empty message.
TEST_CASE("KeyedHashIsHmacSha256") {
  const SecretBytes zero;
  CHECK(hex_from_bytes(keyed_hash(zero, "")) ==
        "b613679a0814d9ec772f95d778c35fc5ff1697c493715653c6c712144292c5ad");
}

TEST_CASE("DerivedKeysDifferByPurpose") {
  const SigningKey key = key_from_hex(kVectors[0].seed);
  const auto hex = [](const SecretBytes& bytes) { return hex_from_bytes(bytes.span()); };
  CHECK(hex(key.derived_key("a")) == hex(key.derived_key("a")));
  CHECK(hex(key.derived_key("a")) != hex(key.derived_key("b")));
}

// The fingerprint and PEM are confirmed by hand with sha256sum and openssl.
TEST_CASE("PublicKeyTextsForOtherTools") {
  const SigningKey key = key_from_hex(kVectors[0].seed);
  CHECK(fingerprint_of(key.public_key()) == "21fe 31df a154 a261 626b f854 046f d227");
  CHECK(pem_from_public_key(key.public_key()) ==
        "-----BEGIN PUBLIC KEY-----\n"
        "MCowBQYDK2VwAyEA11qYAYKxCrfVS/7TyWQHOg7hcvPapiMlrwIaaPcHURo=\n"
        "-----END PUBLIC KEY-----\n");
}
