// What the compiler calls without being asked. Byte by byte: small, and nothing here is long.
// Compiled so that these loops are not turned into calls of themselves.
#include <cstddef>

extern "C" {

void* memcpy(void* to, const void* from, std::size_t length) {
  auto* out = static_cast<unsigned char*>(to);
  const auto* in = static_cast<const unsigned char*>(from);
  for (std::size_t i = 0; i < length; ++i) {
    out[i] = in[i];
  }
  return to;
}

void* memmove(void* to, const void* from, std::size_t length) {
  auto* out = static_cast<unsigned char*>(to);
  const auto* in = static_cast<const unsigned char*>(from);
  if (out <= in) {
    return memcpy(to, from, length);
  }
  for (std::size_t i = length; i > 0; --i) {
    out[i - 1] = in[i - 1];
  }
  return to;
}

void* memset(void* to, int value, std::size_t length) {
  auto* out = static_cast<unsigned char*>(to);
  for (std::size_t i = 0; i < length; ++i) {
    out[i] = static_cast<unsigned char>(value);
  }
  return to;
}

int memcmp(const void* left, const void* right, std::size_t length) {
  const auto* a = static_cast<const unsigned char*>(left);
  const auto* b = static_cast<const unsigned char*>(right);
  for (std::size_t i = 0; i < length; ++i) {
    if (a[i] != b[i]) {
      return a[i] < b[i] ? -1 : 1;
    }
  }
  return 0;
}
}
