#include "logger/store/log/leaf_salt.hpp"

#include <sodium.h>

#include "analysis/evidence/log/leaf_encoding.hpp"

namespace logger::store {

Result<void> fill_salt(std::string& salt) {
  constexpr std::size_t kBytes = analysis::evidence::kLeafSaltBytes;
  if (salt.size() == kBytes) {
    return {};
  }
  if (!salt.empty()) {
    return failure(ErrorCode::invalid_input, "the salt of a row has " +
                                                 std::to_string(salt.size()) + " bytes, expected " +
                                                 std::to_string(kBytes) + " or none");
  }
  if (sodium_init() < 0) {
    return failure(ErrorCode::unavailable, "the system gives no random numbers");
  }
  salt.resize(kBytes);
  randombytes_buf(salt.data(), salt.size());
  return {};
}

}  // namespace logger::store
