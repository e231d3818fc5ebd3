#include "analysis/evidence/sodium_digest.hpp"

namespace analysis::evidence {

Sha256 sha256_from_parts(std::initializer_list<std::string_view> parts) {
  return sodium_sha256_from_parts(parts);
}

}  // namespace analysis::evidence
