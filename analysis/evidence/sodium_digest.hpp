// SHA-256 by libsodium, which every build has. Pure; any thread.
#pragma once

#include "analysis/evidence/digest.hpp"

namespace analysis::evidence {

[[nodiscard]] Sha256 sodium_sha256_from_parts(std::initializer_list<std::string_view> parts);

}  // namespace analysis::evidence
