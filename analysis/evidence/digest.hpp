// SHA-256 (FIPS 180-4) and lower-case hex. Pure; any thread.
#pragma once

#include <array>
#include <compare>
#include <cstddef>
#include <cstdint>
#include <initializer_list>
#include <optional>
#include <span>
#include <string>
#include <string_view>

namespace analysis::evidence {

struct Sha256 {
  std::array<std::uint8_t, 32> bytes{};
  auto operator<=>(const Sha256&) const = default;
};

[[nodiscard]] Sha256 sha256_from_bytes(std::string_view bytes);
// Of the parts one after the other.
[[nodiscard]] Sha256 sha256_from_parts(std::initializer_list<std::string_view> parts);

// Two lower-case digits a byte.
[[nodiscard]] std::string hex_from_bytes(std::span<const std::uint8_t> bytes);

// Fills `bytes` from exactly 2 * bytes.size() lower-case hex digits; false on anything else, upper
// case included, so that a digest has one spelling only. `bytes` is unspecified after false.
[[nodiscard]] bool bytes_from_hex(std::string_view hex, std::span<std::uint8_t> bytes);

[[nodiscard]] std::string hex_from_digest(const Sha256& digest);
[[nodiscard]] std::optional<Sha256> digest_from_hex(std::string_view hex);

}  // namespace analysis::evidence
