// SHA-256 by OpenSSL, which uses the instructions that processors have for it: about a third of the
// time of libsodium's portable code where they are there (docs/adr/0015).
#include <openssl/evp.h>

#include <memory>

#include "analysis/evidence/sodium_digest.hpp"

namespace analysis::evidence {
namespace {

// What a thread keeps, since looking the algorithm up costs more than a short hash.
class Hasher {
 public:
  Hasher()
      : algorithm_(EVP_MD_fetch(nullptr, "SHA256", nullptr), EVP_MD_free),
        context_(EVP_MD_CTX_new(), EVP_MD_CTX_free) {}

  // False when the library could not; then `digest` is unspecified.
  bool hash(std::initializer_list<std::string_view> parts, Sha256& digest) {
    if (!algorithm_ || !context_ ||
        EVP_DigestInit_ex(context_.get(), algorithm_.get(), nullptr) != 1) {
      return false;
    }
    for (const std::string_view part : parts) {
      if (EVP_DigestUpdate(context_.get(), part.data(), part.size()) != 1) {
        return false;
      }
    }
    return EVP_DigestFinal_ex(context_.get(), digest.bytes.data(), nullptr) == 1;
  }

 private:
  std::unique_ptr<EVP_MD, void (*)(EVP_MD*)> algorithm_;
  std::unique_ptr<EVP_MD_CTX, void (*)(EVP_MD_CTX*)> context_;
};

}  // namespace

Sha256 sha256_from_parts(std::initializer_list<std::string_view> parts) {
  thread_local Hasher hasher;
  Sha256 digest;
  return hasher.hash(parts, digest) ? digest : sodium_sha256_from_parts(parts);
}

}  // namespace analysis::evidence
