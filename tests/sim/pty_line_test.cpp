#include "firmware-sim/sim/line/pty_line.hpp"

#include <sys/stat.h>

#include <catch2/catch.hpp>
#include <fstream>
#include <numeric>

#include "tests/sim/line_end.hpp"

using firmware::sim::line::PtyLine;
using namespace sim_test;

namespace {

// Reads until `count` bytes are there.
std::vector<std::uint8_t> read_of(PtyLine& line, std::size_t count) {
  std::vector<std::uint8_t> bytes;
  while (bytes.size() < count) {
    pollfd waiting{line.master_descriptor(), POLLIN, 0};
    if (::poll(&waiting, 1, 10'000) != 1) {
      break;
    }
    line.read(bytes);
  }
  return bytes;
}

std::vector<std::uint8_t> read_of(const Descriptor& end, std::size_t count) {
  std::vector<std::uint8_t> bytes;
  while (bytes.size() < count && end.wait() && end.read(bytes)) {
  }
  return bytes;
}

std::vector<std::uint8_t> every_byte() {
  std::vector<std::uint8_t> bytes(256);
  std::iota(bytes.begin(), bytes.end(), std::uint8_t{0});
  return bytes;
}

}  // namespace

TEST_CASE("EveryByteValuePassesBothWays") {
  const TemporaryFolder folder;
  PtyLine line(folder.file("tty"));
  REQUIRE(line.plug().has_value());
  line.write(every_byte());  // before anyone has it open: no echo, no changed line ends
  const Descriptor end = opened_line(line.link_path());
  REQUIRE(end.is_open());
  CHECK(read_of(end, 256) == every_byte());
  REQUIRE(end.write(every_byte()));
  CHECK(read_of(line, 256) == every_byte());
  CHECK(line.sent() == 256);
  CHECK(line.received() == 256);
}

TEST_CASE("UnplugHangsUpAndReplugGivesANewLineAtTheSamePath") {
  const TemporaryFolder folder;
  PtyLine line(folder.file("tty"));
  REQUIRE(line.plug().has_value());
  const Descriptor old_end = opened_line(line.link_path());
  line.unplug();
  CHECK_FALSE(line.plugged());
  CHECK_FALSE(std::filesystem::exists(folder.file("tty")));
  REQUIRE(old_end.wait());
  std::vector<std::uint8_t> bytes;
  CHECK_FALSE(old_end.read(bytes));
  const std::array<std::uint8_t, 1> one{1};
  CHECK_FALSE(old_end.write(one));
  line.write(one);  // into the air

  REQUIRE(line.plug().has_value());
  CHECK(line.plug_count() == 2);
  const Descriptor end = opened_line(line.link_path());
  REQUIRE(end.write(every_byte()));
  CHECK(read_of(line, 256) == every_byte());
  CHECK_FALSE(old_end.write(one));
}

TEST_CASE("LineOutlivesAClientThatCloses") {
  const TemporaryFolder folder;
  PtyLine line(folder.file("tty"));
  REQUIRE(line.plug().has_value());
  for (int i = 0; i < 3; ++i) {
    const Descriptor end = opened_line(line.link_path());
    REQUIRE(end.write(every_byte()));
    CHECK(read_of(line, 256) == every_byte());
  }
}

TEST_CASE("BeginCountingThrowsAwayWhatIsOnItsWay") {
  const TemporaryFolder folder;
  PtyLine line(folder.file("tty"));
  REQUIRE(line.plug().has_value());
  CHECK_FALSE(line.counting());
  const Descriptor end = opened_line(line.link_path());
  REQUIRE(end.write(every_byte()));
  line.write(every_byte());
  line.begin_counting();
  CHECK(line.counting());
  CHECK(line.received() == 0);
  CHECK(line.sent() == 0);
  std::vector<std::uint8_t> bytes;
  CHECK(line.read(bytes) == 0);
  CHECK(end.taken().empty());
  const std::array<std::uint8_t, 2> two{1, 2};
  REQUIRE(end.write(two));
  CHECK(read_of(line, 2) == std::vector<std::uint8_t>{1, 2});
}

TEST_CASE("WhatTheKernelDoesNotTakeIsSentLater") {
  const TemporaryFolder folder;
  PtyLine line(folder.file("tty"));
  REQUIRE(line.plug().has_value());
  const Descriptor end = opened_line(line.link_path());
  const std::vector<std::uint8_t> much(200'000, 0x5a);
  line.write(much);
  REQUIRE(line.has_unsent());
  std::vector<std::uint8_t> bytes;
  while (bytes.size() < much.size() && end.wait() && end.read(bytes)) {
    line.flush();
  }
  CHECK(bytes == much);
  CHECK_FALSE(line.has_unsent());
}

TEST_CASE("OnlyALinkIsReplaced") {
  const TemporaryFolder folder;
  std::ofstream(folder.file("tty")) << "mine";
  PtyLine line(folder.file("tty"));
  const auto refused = line.plug();
  REQUIRE_FALSE(refused.has_value());
  CHECK(refused.error() == "serial line: " + folder.file("tty") +
                               " exists and is no symbolic link; expected a free path");
  CHECK(std::filesystem::exists(folder.file("tty")));

  REQUIRE(::symlink("/nowhere", folder.file("stale").c_str()) == 0);
  PtyLine other(folder.file("stale"));
  CHECK(other.plug().has_value());
  PtyLine homeless(folder.file("no-folder/tty"));
  CHECK_FALSE(homeless.plug().has_value());
  CHECK_FALSE(homeless.plugged());
}
