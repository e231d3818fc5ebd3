// The stack of the image: as deep as it was seen, and as deep as its call graph allows.
#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <cstdio>
#include <iostream>
#include <vector>

#include "firmware-sim/target/machine/board.hpp"
#include "firmware-sim/target/machine/registers.hpp"
#include "tests/target/image/image_bench.hpp"

using firmware::core::BoxRecord;
using firmware::core::kWindowRecords;
using firmware::core::kWindows;
using target_test::Emulator;
using target_test::ImageBench;
using target_test::kSmallBlocks;
using target_test::take_sample_with_slab_probe;

namespace machine = firmware::target::machine;

namespace {

struct MemoryUse {
  std::size_t untouched = 0;
  std::size_t stack = 0;  // deepest
};

// The RAM holds the static data, then what the stack has never reached, then the stack.
MemoryUse memory_use(Emulator& emulator) {
  const auto ram =
      emulator.memory_at(static_cast<std::uint32_t>(machine::kRam), machine::kRamBytes);
  MemoryUse use;
  std::size_t run = 0;
  for (std::size_t at = 0; at + 4 <= ram.size(); at += 4) {
    std::uint32_t word = 0;
    std::copy_n(ram.begin() + static_cast<std::ptrdiff_t>(at), 4,
                reinterpret_cast<std::uint8_t*>(&word));
    run = word == machine::kStackPaint ? run + 4 : 0;
    if (run > use.untouched) {
      use = {run, ram.size() - at - 4};
    }
  }
  return use;
}

// What the compiler's call graph says the stack can need at most, bytes.
std::size_t stack_bound() {
  std::FILE* const pipe = ::popen(DWELLOG_STACK_BOUND, "r");
  REQUIRE(pipe != nullptr);
  std::size_t bound = 0;
  std::array<char, 512> text{};
  while (std::fgets(text.data(), static_cast<int>(text.size()), pipe) != nullptr) {
    static_cast<void>(std::sscanf(text.data(), "stack bound %zu of", &bound));
  }
  CHECK(::pclose(pipe) == 0);
  return bound;
}

}  // namespace

// The deepest paths: overflow, a block change inside a release, a start over a full ring, and the
// real drivers.
TEST_CASE("TheStackStaysWithinItsReserve") {
  ImageBench bench(kSmallBlocks);
  std::size_t deepest = 0;
  std::size_t untouched = ~std::size_t{0};
  const auto look = [&] {
    const MemoryUse use = memory_use(bench.emulator);
    deepest = std::max(deepest, use.stack);
    untouched = std::min(untouched, use.untouched);
  };
  REQUIRE(bench.emulator.take_samples(500));
  const std::vector<BoxRecord> records = bench.all_records();
  static_cast<void>(bench.master.lost());
  CHECK(bench.master.release(records.back().key()) == 0);
  look();
  bench.emulator.reset();
  CHECK(bench.all_records().size() == kWindows * kWindowRecords);
  look();
  bench.emulator.control().wired = 1;
  bench.emulator.reset();
  CHECK(take_sample_with_slab_probe(bench.emulator));
  CHECK(bench.master.live().sample.raw_counts[4] == 8500);
  look();
  const std::size_t bound = stack_bound();
  std::cout << "worst stack seen " << deepest << " bytes, bound " << bound
            << " bytes, RAM never touched " << untouched << " bytes\n";
  CHECK(deepest > 1000);  // else the paint was not found
  CHECK(deepest <= bound);
  CHECK(bound <= 4096);
}
