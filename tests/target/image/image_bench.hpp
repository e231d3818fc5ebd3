// What the tests of the image share: a box on the emulated machine, asked as a master does.
#pragma once

#include <poll.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <future>
#include <span>
#include <vector>

#include "tests/core/box_master.hpp"
#include "tests/target/emulator.hpp"
#include "tests/target/fake_ports.hpp"

namespace target_test {

inline constexpr std::uint32_t kSmallBlocks = 4;
inline constexpr std::uint32_t kSlotsInBlock = 89;

// A box on the emulated machine and a master on its line.
struct ImageBench {
  Emulator emulator{DWELLOG_PROBE_BOX_ELF};
  std::vector<std::uint8_t> reply;
  firmware::core::BoxMaster master{1, [this](std::span<const std::uint8_t> frame) {
                                     reply = exchange_on(emulator.line(), frame);
                                     return std::span<const std::uint8_t>(reply);
                                   }};

  explicit ImageBench(std::uint32_t blocks = 0, bool wired = false) {
    emulator.control().serial = 42;
    emulator.control().settle_ms = 3'600'000;  // only the samples that a test takes
    emulator.control().wired = wired ? 1 : 0;
    emulator.control().flash_blocks = blocks;
    emulator.start();
  }
  bool take_sample(const firmware::core::Sample& sample) {
    auto& control = emulator.control();
    for (std::size_t channel = 0; channel < firmware::core::kChannels; ++channel) {
      control.raw_counts[channel] = sample.raw_counts[channel];
      control.statuses[channel] = sample.statuses[channel];
    }
    control.flags = sample.flags;
    return emulator.take_samples(1);
  }
  std::vector<firmware::core::BoxRecord> all_records() {
    REQUIRE(master.select({}) == 0);
    std::vector<firmware::core::BoxRecord> records;
    std::size_t window = 0;
    for (std::vector<firmware::core::BoxRecord> some; window < firmware::core::kWindows; ++window) {
      some = master.window(window);
      records.insert(records.end(), some.begin(), some.end());
      if (some.size() < firmware::core::kWindowRecords) {
        break;
      }
    }
    return records;
  }
};

// Answers one request on the second line as a slab probe of 20.1 deg C and 85.0 %RH would, while
// the box takes one sample. False: no sample, or another request.
inline bool take_sample_with_slab_probe(Emulator& emulator) {
  std::future<bool> answered = std::async(std::launch::async, [line = emulator.second_line()] {
    std::array<std::uint8_t, 8> request{};
    std::size_t length = 0;
    pollfd entry{line, POLLIN, 0};
    while (length < request.size() && ::poll(&entry, 1, 5000) > 0) {
      const ssize_t count = ::read(line, request.data() + length, request.size() - length);
      length += count > 0 ? static_cast<std::size_t>(count) : request.size();
    }
    const auto expected = firmware::target::bytes_from_hex("01 04 00 00 00 02 71 cb");
    const auto reply = firmware::target::bytes_from_hex("01 04 04 00 c9 03 52 aa b7");
    return std::equal(expected.begin(), expected.end(), request.begin()) &&
           ::write(line, reply.data(), reply.size()) == static_cast<ssize_t>(reply.size());
  });
  const bool taken = emulator.take_samples(1);
  return answered.get() && taken;
}

}  // namespace target_test
