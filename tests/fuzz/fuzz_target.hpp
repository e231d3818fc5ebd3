// What a fuzz target and the programs that run it share: libFuzzer gives bytes it invents, the
// replay program those kept in corpus/. A broken property ends the program with its text.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <span>

// The target, one in each program. Name and shape are libFuzzer's; gives 0.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace fuzz {

inline void require(bool holds, const char* property) {
  if (!holds) {
    std::fprintf(stderr, "property broken: %s\n", property);
    std::abort();
  }
}

// Takes values off the front of the input; what is behind its end reads as 0.
class ByteSource {
 public:
  explicit ByteSource(std::span<const std::uint8_t> bytes) : bytes_(bytes) {}

  [[nodiscard]] bool empty() const { return bytes_.empty(); }
  std::uint8_t u8() {
    const auto byte = take(1);
    return byte.empty() ? std::uint8_t{0} : byte.front();
  }
  std::uint16_t u16() {
    const unsigned high = u8();
    return static_cast<std::uint16_t>(high << 8U | u8());
  }
  std::uint32_t u32() {
    const std::uint32_t high = u16();
    return high << 16U | u16();
  }
  std::uint64_t u64() {
    const std::uint64_t high = u32();
    return high << 32U | u32();
  }
  // The next `count` bytes, or those that are left.
  std::span<const std::uint8_t> take(std::size_t count) {
    const auto front = bytes_.first(std::min(count, bytes_.size()));
    bytes_ = bytes_.subspan(front.size());
    return front;
  }
  std::span<const std::uint8_t> rest() { return take(bytes_.size()); }

 private:
  std::span<const std::uint8_t> bytes_;
};

}  // namespace fuzz
