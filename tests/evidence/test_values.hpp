// Keys and bytes that tests of the evidence begin with.
#pragma once

#include <catch2/catch.hpp>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "analysis/evidence/digest.hpp"
#include "analysis/evidence/signing_key.hpp"

namespace evidence_tests {

inline std::string bytes_of_hex(const std::string& hex) {
  std::vector<std::uint8_t> bytes(hex.size() / 2);
  REQUIRE(analysis::evidence::bytes_from_hex(hex, bytes));
  return {bytes.begin(), bytes.end()};
}

inline analysis::evidence::SigningKey key_of(std::uint8_t first_byte) {
  analysis::evidence::SecretBytes seed;
  seed.span()[0] = first_byte;
  return analysis::evidence::SigningKey(std::move(seed));
}

}  // namespace evidence_tests
