// A master nobody here wrote (mbpoll) collects from the box on the emulated machine, over a
// pseudo-terminal.
#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <cstdio>
#include <fstream>
#include <iterator>
#include <map>
#include <sstream>
#include <string>

#include "firmware-sim/core/wire_format.hpp"
#include "tests/target/emulator.hpp"
#include "tests/target/fake_ports.hpp"

using namespace firmware::core;
using firmware::target::bytes_from_hex;
using target_test::Emulator;

namespace {

using Registers = std::map<int, int>;  // by number, from 1

struct Bench {
  Emulator emulator{DWELLOG_PROBE_BOX_ELF, Emulator::Line::pseudo_terminal};
  std::string terminal;
  int held = -1;  // a pseudo-terminal nobody has open loses what is sent to it

  Bench() {
    emulator.control().settle_ms = 3'600'000;
    emulator.start();
    terminal = emulator.terminal();
    held = ::open(terminal.c_str(), O_RDWR | O_NOCTTY | O_CLOEXEC);
    REQUIRE(held >= 0);
    // The emulator looks once a second whether somebody opened it.
    REQUIRE_FALSE(
        target_test::exchange_on(held, bytes_from_hex("01 03 00 00 00 1c 44 03")).empty());
  }
  Bench(const Bench&) = delete;
  Bench& operator=(const Bench&) = delete;
  ~Bench() { ::close(held); }

  // What mbpoll prints; `arguments` come before the terminal, `values` behind it.
  std::string mbpoll(const std::string& arguments, const std::string& values = "") const {
    const std::string line = "mbpoll -m rtu -b 115200 -P none -a 1 -1 -o 5 " + arguments + " " +
                             terminal + " " + values + " 2>&1";
    std::FILE* const pipe = ::popen(line.c_str(), "r");
    REQUIRE(pipe != nullptr);
    std::string output;
    std::array<char, 512> text{};
    while (std::fgets(text.data(), static_cast<int>(text.size()), pipe) != nullptr) {
      output += text.data();
    }
    ::pclose(pipe);
    return output;
  }
  // Function 04 or 03. `address` as in the register map, from 0.
  Registers read(char table, int address, int count) const {
    const std::string output = mbpoll("-t " + std::string(1, table) + ":hex -r " +
                                      std::to_string(address + 1) + " -c " + std::to_string(count));
    INFO(output);
    Registers registers;
    std::istringstream lines(output);
    for (std::string line; std::getline(lines, line);) {
      int number = 0;
      unsigned value = 0;
      if (std::sscanf(line.c_str(), "[%d]: %x", &number, &value) == 2) {
        registers[number - 1] = static_cast<int>(value);
      }
    }
    REQUIRE(registers.size() == static_cast<std::size_t>(count));
    return registers;
  }
  // One command as in the papers, and what it prints about registers.
  std::string shown(const std::string& arguments, const std::string& values = "") const {
    std::string text = "$ mbpoll -m rtu -b 115200 -P none -a 1 -1 " + arguments + " /dev/ttyUSB0" +
                       (values.empty() ? "" : " " + values) + "\n";
    std::istringstream lines(mbpoll(arguments, values));
    for (std::string line; std::getline(lines, line);) {
      if (line.starts_with("[") || line.starts_with("Written") ||
          line.find("failed") != std::string::npos) {
        std::replace(line.begin(), line.end(), '\t', ' ');
        text += line + "\n";
      }
    }
    return text;
  }
  // Function 16, or 06 for one value.
  std::string write(int address, const std::string& values) const {
    return mbpoll("-t 4 -r " + std::to_string(address + 1), values);
  }
};

constexpr char kInput = '3';
constexpr char kHolding = '4';

}  // namespace

TEST_CASE("MbpollReadsSelectsReleasesAndSetsTheInterval") {
  Bench bench;
  auto& control = bench.emulator.control();
  for (int i = 1; i <= 7; ++i) {
    control.raw_counts[0] = static_cast<std::int16_t>(2000 + i);
    control.raw_counts[1] = -40;
    REQUIRE(bench.emulator.take_samples(1));
  }
  const Registers identity = bench.read(kHolding, kRegIdentity, kIdentitySize);
  CHECK(identity.at(kIdentityMagic) == kMapMagic);
  CHECK(identity.at(kIdentityBoot + 1) == 1);
  CHECK(identity.at(kIdentityHeld + 1) == 7);
  const Registers live = bench.read(kInput, kRegLive, kLiveSize);
  CHECK(live.at(kRegLive + kLiveSequence + 1) == 7);
  CHECK(live.at(kRegLive + kLiveRaw) == 2007);
  CHECK(live.at(kRegLive + kLiveRaw + 1) == 0xffd8);

  CHECK(bench.write(kRegSelect, "0 0 0 0").find("Written 4 references") != std::string::npos);
  const Registers window = bench.read(kInput, kRegWindow, kWindowSize);
  CHECK(window.at(kRegWindow) == 5);
  for (int i = 0; i < 5; ++i) {
    const int record = kRegWindow + kWindowFirst + i * kRecordSize;
    CHECK(window.at(record + kRecordSequence + 1) == i + 1);
    CHECK(window.at(record + kRecordRaw) == 2001 + i);
  }
  // Not read yet: refused. Read: forgotten.
  CHECK(bench.write(kRegRelease, "0 1 0 6").find("Illegal data value") != std::string::npos);
  CHECK(bench.write(kRegRelease, "0 1 0 5").find("Written 4 references") != std::string::npos);
  const Registers after = bench.read(kHolding, kRegIdentity, kIdentitySize);
  CHECK(after.at(kIdentityHeld + 1) == 2);
  CHECK(after.at(kIdentityOldestSequence + 1) == 6);

  CHECK(bench.write(kRegSampleInterval, "30").find("Written 1 references") != std::string::npos);
  CHECK(bench.read(kHolding, kRegSampleInterval, 1).at(kRegSampleInterval) == 30);
  CHECK(bench.mbpoll("-t 0 -r 1 -c 1").find("Illegal function") != std::string::npos);

  CHECK(bench.mbpoll("-t 4 -r 30 -c 1").find("Illegal data address") != std::string::npos);
  CHECK(bench.mbpoll("-t 3 -r 28 -c 2").find("Illegal data address") != std::string::npos);
  CHECK(bench.write(kRegSampleInterval, "0").find("Illegal data value") != std::string::npos);
  CHECK(bench.write(kRegSampleInterval, "3601").find("Illegal data value") != std::string::npos);
  CHECK(bench.write(kRegIdentity, "1").find("Illegal data address") != std::string::npos);
  CHECK(bench.write(kRegRelease, "0 1").find("Illegal data value") != std::string::npos);
  CHECK(bench.read(kHolding, kRegSampleInterval, 1).at(kRegSampleInterval) == 30);

  bench.emulator.reset();
  const Registers again = bench.read(kHolding, kRegIdentity, kIdentitySize);
  CHECK(again.at(kIdentityBoot + 1) == 2);
  CHECK(again.at(kIdentityHeld + 1) == 2);
}

// docs/firmware.md shows a session; this is the same session, so the text there stays true.
TEST_CASE("TheSessionInThePapersIsWhatMbpollPrints") {
  Bench bench;
  auto& control = bench.emulator.control();
  for (int i = 1; i <= 2; ++i) {
    control.raw_counts[0] = static_cast<std::int16_t>(2000 + i);
    control.raw_counts[1] = 4875;
    REQUIRE(bench.emulator.take_samples(1));
  }
  std::string session;
  session += bench.shown("-t 4:hex -r 1 -c 2");
  session += bench.shown("-t 3 -r 264 -c 2");
  session += bench.shown("-t 4 -r 2561", "0 0 0 0");
  session += bench.shown("-t 3 -r 513 -c 5");  // up to the ticks, which differ from run to run
  session += bench.shown("-t 3 -r 523 -c 2");
  session += bench.shown("-t 4 -r 2577", "0 1 0 9");
  session += bench.shown("-t 4 -r 2593", "30");
  session += bench.shown("-t 4 -r 30 -c 1");
  std::ifstream file("docs/firmware.md");
  const std::string paper{std::istreambuf_iterator<char>(file), {}};
  INFO(session);
  CHECK(paper.find(session) != std::string::npos);
}
