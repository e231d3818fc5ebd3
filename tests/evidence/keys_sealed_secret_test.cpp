// A secret key under a passphrase: opens with it alone, and with not a bit of the file changed.
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "analysis/evidence/canonical_json.hpp"
#include "analysis/evidence/sealed_secret.hpp"

using namespace analysis::evidence;
using nlohmann::json;

namespace {

constexpr SealingCost kCheap{1, 8192};  // libsodium's least; a real file costs 64 MiB

SigningKey key() {
  SecretBytes seed;
  seed.span()[0] = 5;
  return SigningKey(std::move(seed));
}

SealingNoise noise() {
  SealingNoise noise;
  noise.salt.fill(3);
  noise.nonce.fill(4);
  return noise;
}

std::string sealed() { return sealed_secret_text(key(), "open sesame", noise(), kCheap).value(); }

std::string with(const char* member, const json& value) {
  json document = json::parse(sealed());
  document[member] = value;
  return canonical_from_json(document).value() + "\n";
}

}  // namespace

TEST_CASE("ASealedKeyOpensWithItsPassphraseAlone") {
  const std::string text = sealed();
  CHECK(is_sealed_secret(text));
  CHECK_FALSE(is_sealed_secret(key().secret_text()));
  CHECK_FALSE(signing_key_from_text(text).has_value());
  CHECK(public_key_of_sealed(text).value() == key().public_key());
  const auto opened = open_sealed_secret(text, "open sesame");
  REQUIRE(opened.has_value());
  CHECK(opened.value().secret_text() == key().secret_text());
  for (const char* wrong : {"open sesam", "open sesame ", "Open sesame", ""}) {
    const auto refused = open_sealed_secret(text, wrong);
    REQUIRE_FALSE(refused.has_value());
    CHECK(refused.error().text == "wrong passphrase, or the file was altered");
  }
}

TEST_CASE("TheSecretDoesNotStandInTheFile") {
  std::string hex = key().secret_text();
  hex = hex.substr(hex.find(' ') + 1, 64);
  CHECK(sealed().find(hex) == std::string::npos);
}

TEST_CASE("TheFileNamesWhatAGuessCosts") {
  const std::string text = sealed_secret_text(key(), "x", noise()).value();
  CHECK(text.find("\"kdf\":\"argon2id13\",\"memory_bytes\":67108864,") != std::string::npos);
  CHECK(text.find("\"operations\":2,") != std::string::npos);
  CHECK(open_sealed_secret(text, "x").has_value());
}

TEST_CASE("EveryCutAndEveryFlippedBitOfASealedKeyIsRefused") {
  const std::string text = sealed();
  for (std::size_t i = 0; i + 1 < text.size(); ++i) {
    INFO(i);
    REQUIRE_FALSE(open_sealed_secret(text.substr(0, i), "open sesame").has_value());
    std::string flipped = text;
    flipped[i] = static_cast<char>(flipped[i] ^ (1 << (i % 7)));
    REQUIRE_FALSE(open_sealed_secret(flipped, "open sesame").has_value());
  }
}

TEST_CASE("AFileThatAsksForTooMuchOrIsAnotherKeysIsRefused") {
  CHECK_FALSE(public_key_of_sealed(with("memory_bytes", 1LL << 40)).has_value());
  CHECK_FALSE(public_key_of_sealed(with("operations", 1'000'000)).has_value());
  CHECK_FALSE(public_key_of_sealed(with("operations", 0)).has_value());
  CHECK_FALSE(public_key_of_sealed(with("kdf", "none")).has_value());
  CHECK_FALSE(public_key_of_sealed(with("more", 1)).has_value());
  CHECK_FALSE(open_sealed_secret(with("public_key", std::string(64, '0')), "open sesame"));
  CHECK_FALSE(sealed_secret_text(key(), "", noise(), kCheap).has_value());
  CHECK_FALSE(sealed_secret_text(key(), "x", noise(), {0, 8192}).has_value());
}
