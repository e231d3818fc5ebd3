#include "analysis/evidence/digest.hpp"

namespace analysis::evidence {
namespace {

// -1 for anything but 0-9 and a-f.
int value_of_hex_digit(char digit) {
  if (digit >= '0' && digit <= '9') {
    return digit - '0';
  }
  return digit >= 'a' && digit <= 'f' ? digit - 'a' + 10 : -1;
}

}  // namespace

Sha256 sha256_from_bytes(std::string_view bytes) { return sha256_from_parts({bytes}); }

std::string hex_from_bytes(std::span<const std::uint8_t> bytes) {
  static constexpr std::string_view kDigits = "0123456789abcdef";
  std::string hex;
  hex.reserve(2 * bytes.size());
  for (const std::uint8_t byte : bytes) {
    hex += kDigits[byte >> 4U];
    hex += kDigits[byte & 15U];
  }
  return hex;
}

bool bytes_from_hex(std::string_view hex, std::span<std::uint8_t> bytes) {
  if (hex.size() != 2 * bytes.size()) {
    return false;
  }
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    const int high = value_of_hex_digit(hex[2 * i]);
    const int low = value_of_hex_digit(hex[2 * i + 1]);
    if (high < 0 || low < 0) {
      return false;
    }
    bytes[i] = static_cast<std::uint8_t>(high * 16 + low);
  }
  return true;
}

std::string hex_from_digest(const Sha256& digest) { return hex_from_bytes(digest.bytes); }

std::optional<Sha256> digest_from_hex(std::string_view hex) {
  Sha256 digest;
  return bytes_from_hex(hex, digest.bytes) ? std::optional<Sha256>(digest) : std::nullopt;
}

}  // namespace analysis::evidence
