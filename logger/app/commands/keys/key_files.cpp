#include "logger/app/commands/keys/key_files.hpp"

#include <sodium.h>

#include "analysis/evidence/sealed_secret.hpp"

namespace logger::app {

using analysis::evidence::PublicKey;
using analysis::evidence::SigningKey;
using store::ErrorCode;
using store::failure;
using store::Result;

Result<PublicKey> read_public_key(const std::filesystem::path& file) {
  const auto text = read_file(file);
  if (!text) {
    return store::Failure{text.error()};
  }
  const auto key = analysis::evidence::public_key_from_text(text.value());
  if (!key) {
    return failure(ErrorCode::invalid_input, file.string() + ": " + key.error().text);
  }
  return key.value();
}

Result<SecretKeyFile> read_secret_key_file(const std::filesystem::path& file) {
  auto text = read_secret_file(file);
  if (!text) {
    return store::Failure{text.error()};
  }
  SecretKeyFile secret{std::move(text).value(), false, {}};
  secret.is_protected = analysis::evidence::is_sealed_secret(secret.text);
  std::string fault;
  if (secret.is_protected) {
    const auto key = analysis::evidence::public_key_of_sealed(secret.text);
    fault = key ? "" : key.error().text;
    secret.public_key = key.value_or(PublicKey{});
  } else {
    const auto key = analysis::evidence::signing_key_from_text(secret.text);
    fault = key ? "" : key.error().text;
    secret.public_key = key ? key.value().public_key() : PublicKey{};
  }
  if (!fault.empty()) {
    analysis::evidence::wipe(secret.text);
    return failure(ErrorCode::invalid_input, file.string() + ": " + fault);
  }
  return secret;
}

namespace {

Result<SecretKeyFile> read_matching_secret(const JobFolder& folder) {
  auto secret = read_secret_key_file(folder.secret_key());
  if (!secret) {
    return secret;
  }
  const auto known = read_public_key(folder.public_key());
  if (known && known.value() == secret.value().public_key) {
    return secret;
  }
  analysis::evidence::wipe(secret.value().text);
  return known ? failure(ErrorCode::invalid_input, folder.secret_key().string() +
                                                       " does not belong to " +
                                                       folder.public_key().string() +
                                                       "; where a change of keys was stopped "
                                                       "midway, `dwellog keys " +
                                                       folder.root.string() + " rotate` ends it")
               : store::Failure{known.error()};
}

}  // namespace

Result<SecretKeyFile> check_secret_key(const JobFolder& folder) {
  auto secret = read_matching_secret(folder);
  if (secret) {
    analysis::evidence::wipe(secret.value().text);
  }
  return secret;
}

Result<OpenedKey> open_signing_key(const JobFolder& folder, const PassphraseSource& passphrase) {
  auto secret = read_matching_secret(folder);
  if (!secret) {
    return store::Failure{secret.error()};
  }
  std::string text = std::move(secret.value().text);
  if (!secret.value().is_protected) {
    auto key = analysis::evidence::signing_key_from_text(text);
    analysis::evidence::wipe(text);
    return OpenedKey{std::move(key).value(), ""};
  }
  auto given = passphrase("Passphrase of " + folder.secret_key().string() + ": ");
  if (!given) {
    return store::Failure{given.error()};
  }
  auto key = analysis::evidence::open_sealed_secret(text, given.value());
  if (!key) {
    analysis::evidence::wipe(given.value());
    return failure(ErrorCode::invalid_input,
                   folder.secret_key().string() + ": " + key.error().text);
  }
  return OpenedKey{std::move(key).value(), std::move(given).value()};
}

Result<SigningKey> new_signing_key() {
  if (sodium_init() < 0) {
    return failure(ErrorCode::unavailable, "no random numbers to make a key from");
  }
  analysis::evidence::SecretBytes seed;
  randombytes_buf(seed.span().data(), seed.span().size());
  return SigningKey(std::move(seed));
}

Result<void> write_secret_key(const std::filesystem::path& file, const SigningKey& key,
                              const std::string& passphrase) {
  if (passphrase.empty()) {
    std::string secret = key.secret_text();
    const auto written = write_file(file, secret, 0600);
    analysis::evidence::wipe(secret);
    return written;
  }
  if (sodium_init() < 0) {
    return failure(ErrorCode::unavailable, "no random numbers to protect a key with");
  }
  analysis::evidence::SealingNoise noise;
  randombytes_buf(noise.salt.data(), noise.salt.size());
  randombytes_buf(noise.nonce.data(), noise.nonce.size());
  const auto sealed = analysis::evidence::sealed_secret_text(key, passphrase, noise);
  if (!sealed) {
    return failure(ErrorCode::unavailable, file.string() + ": " + sealed.error().text);
  }
  return write_file(file, sealed.value(), 0600);
}

}  // namespace logger::app
