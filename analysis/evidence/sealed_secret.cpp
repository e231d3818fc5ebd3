#include "analysis/evidence/sealed_secret.hpp"

#include <sodium.h>

#include <nlohmann/json.hpp>
#include <utility>

#include "analysis/evidence/canonical_json.hpp"
#include "analysis/evidence/digest.hpp"

namespace analysis::evidence {
namespace {

using base::Failure;
using base::Result;
using nlohmann::json;

static_assert(sizeof(SealingNoise::salt) == crypto_pwhash_argon2id_SALTBYTES);
static_assert(sizeof(SealingNoise::nonce) == crypto_secretbox_NONCEBYTES);
static_assert(kSeedBytes == crypto_secretbox_KEYBYTES);

constexpr std::string_view kKdf = "argon2id13";
constexpr std::string_view kStart = "{\"box\":";
// A file may not ask for more than this machine can be expected to have.
constexpr std::int64_t kMostOperations = 16;
constexpr std::int64_t kMostMemoryBytes = 1LL << 30;
// Argon2 counts in KiB; other figures would be two spellings of one cost.
constexpr std::int64_t kMemoryStep = 1024;

struct SealedFile {
  std::array<std::uint8_t, crypto_secretbox_MACBYTES + kSeedBytes> box{};
  PublicKey public_key;
  SealingNoise noise;
  SealingCost cost;
};

json json_from_file(const SealedFile& file) {
  return {{"format", kSealedSecretFormat},
          {"kdf", kKdf},
          {"operations", file.cost.operations},
          {"memory_bytes", file.cost.memory_bytes},
          {"salt", hex_from_bytes(file.noise.salt)},
          {"nonce", hex_from_bytes(file.noise.nonce)},
          {"box", hex_from_bytes(file.box)},
          {"public_key", hex_from_bytes(file.public_key.bytes)}};
}

bool cost_is_allowed(const SealingCost& cost) {
  return cost.operations >= crypto_pwhash_argon2id_OPSLIMIT_MIN &&
         cost.operations <= kMostOperations &&
         cost.memory_bytes >= crypto_pwhash_argon2id_MEMLIMIT_MIN &&
         cost.memory_bytes <= kMostMemoryBytes && cost.memory_bytes % kMemoryStep == 0;
}

bool take_bytes(const json& object, const char* name, std::span<std::uint8_t> bytes) {
  const auto found = object.find(name);
  return found != object.end() && found->is_string() &&
         bytes_from_hex(found->get_ref<const std::string&>(), bytes);
}

bool take_integer(const json& object, const char* name, std::int64_t& value) {
  const auto found = object.find(name);
  if (found == object.end() || !found->is_number_integer()) {
    return false;
  }
  value = found->get<std::int64_t>();
  return true;
}

Result<SealedFile, Fault> file_from_text(std::string_view text) {
  if (text.ends_with('\n')) {
    text.remove_suffix(1);
  }
  const auto read = json_from_canonical(text);
  SealedFile file;
  const bool whole = read && read.value().is_object() &&
                     take_bytes(read.value(), "box", file.box) &&
                     take_bytes(read.value(), "public_key", file.public_key.bytes) &&
                     take_bytes(read.value(), "salt", file.noise.salt) &&
                     take_bytes(read.value(), "nonce", file.noise.nonce) &&
                     take_integer(read.value(), "operations", file.cost.operations) &&
                     take_integer(read.value(), "memory_bytes", file.cost.memory_bytes);
  if (!whole || !cost_is_allowed(file.cost) || json_from_file(file) != read.value()) {
    return Failure{Fault{"not a protected secret key: expected one line of \"" +
                         std::string(kSealedSecretFormat) + "\" as it was written"}};
  }
  return file;
}

Result<SecretBytes, Fault> key_from_passphrase(std::string_view passphrase,
                                               const SealingNoise& noise, const SealingCost& cost) {
  SecretBytes key;
  const int made = crypto_pwhash_argon2id(
      key.span().data(), key.span().size(), passphrase.data(), passphrase.size(), noise.salt.data(),
      static_cast<unsigned long long>(cost.operations), static_cast<std::size_t>(cost.memory_bytes),
      crypto_pwhash_argon2id_ALG_ARGON2ID13);
  if (made != 0) {
    return Failure{Fault{"the passphrase can't be worked on: the machine has not the " +
                         std::to_string(cost.memory_bytes / 1024) + " KiB of memory it takes"}};
  }
  return key;
}

}  // namespace

Result<std::string, Fault> sealed_secret_text(const SigningKey& key, std::string_view passphrase,
                                              const SealingNoise& noise, const SealingCost& cost) {
  if (passphrase.empty() || !cost_is_allowed(cost)) {
    return Failure{Fault{passphrase.empty() ? "the passphrase is empty"
                                            : "the cost of the passphrase is out of its range"}};
  }
  const auto sealing_key = key_from_passphrase(passphrase, noise, cost);
  if (!sealing_key) {
    return Failure{sealing_key.error()};
  }
  SealedFile file{{}, key.public_key(), noise, cost};
  crypto_secretbox_easy(file.box.data(), key.seed().data(), key.seed().size(), noise.nonce.data(),
                        sealing_key.value().span().data());
  auto text = canonical_from_json(json_from_file(file));
  return text ? text.value() + '\n' : text;
}

bool is_sealed_secret(std::string_view text) { return text.starts_with(kStart); }

Result<PublicKey, Fault> public_key_of_sealed(std::string_view text) {
  const auto file = file_from_text(text);
  if (!file) {
    return Failure{file.error()};
  }
  return file.value().public_key;
}

Result<SigningKey, Fault> open_sealed_secret(std::string_view text, std::string_view passphrase) {
  const auto read = file_from_text(text);
  if (!read) {
    return Failure{read.error()};
  }
  const SealedFile& file = read.value();
  const auto sealing_key = key_from_passphrase(passphrase, file.noise, file.cost);
  if (!sealing_key) {
    return Failure{sealing_key.error()};
  }
  SecretBytes seed;
  const bool opened =
      crypto_secretbox_open_easy(seed.span().data(), file.box.data(), file.box.size(),
                                 file.noise.nonce.data(), sealing_key.value().span().data()) == 0;
  SigningKey key(std::move(seed));
  if (!opened || key.public_key() != file.public_key) {
    return Failure{Fault{"wrong passphrase, or the file was altered"}};
  }
  return key;
}

}  // namespace analysis::evidence
