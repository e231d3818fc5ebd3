#include "logger/app/commands/key_files.hpp"

#include <sys/stat.h>

#include <cerrno>
#include <cstring>

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

Result<SigningKey> read_signing_key(const JobFolder& folder) {
  const std::string name = folder.secret_key().string();
  struct stat status {};
  if (::stat(name.c_str(), &status) != 0) {
    return failure(errno == ENOENT ? ErrorCode::not_found : ErrorCode::io,
                   name + ": " + std::strerror(errno), errno);
  }
  if ((status.st_mode & 077U) != 0) {
    return failure(ErrorCode::invalid_input,
                   name + " can be read or changed by others than its owner; `chmod 600 " + name +
                       "` if nobody did, else make a new key");
  }
  auto text = read_file(folder.secret_key());
  if (!text) {
    return store::Failure{text.error()};
  }
  std::string secret = std::move(text).value();
  auto key = analysis::evidence::signing_key_from_text(secret);
  analysis::evidence::wipe(secret);
  if (!key) {
    return failure(ErrorCode::invalid_input, name + ": " + key.error().text);
  }
  const auto known = read_public_key(folder.public_key());
  if (!known) {
    return store::Failure{known.error()};
  }
  if (known.value() != key.value().public_key()) {
    return failure(ErrorCode::invalid_input,
                   name + " does not belong to " + folder.public_key().string());
  }
  return std::move(key).value();
}

}  // namespace logger::app
