// Faults of single exchanges, as a master at the other end of the line sees them.
#include <bit>
#include <catch2/catch.hpp>

#include "firmware-sim/core/wire_format.hpp"
#include "firmware-sim/sim/script/scenario_text.hpp"
#include "firmware-sim/sim/simulation_run.hpp"
#include "tests/sim/line_end.hpp"

using namespace firmware::sim;
using namespace firmware::core;
using namespace sim_test;

namespace {

// A site whose time stands still at its start, with one box and the given faults.
struct Bench {
  TemporaryFolder folder;
  std::unique_ptr<SimulationRun> run;
  Descriptor end;

  explicit Bench(const std::string& faults)
      : run(made(faults)), end(opened_line(folder.file("tty"))) {}

  std::unique_ptr<SimulationRun> made(const std::string& faults) {
    auto scenario =
        script::scenario_from_text("start 2026-03-02T07:00:00Z\nlength 3h\nbox 1\n" + faults, "t");
    INFO((scenario ? "" : scenario.error()));
    REQUIRE(scenario);
    RunSettings settings;
    settings.scenario = std::move(scenario).value();
    settings.time_socket = folder.file("time");
    place_on_ports(settings, folder.file("tty"));
    auto site = SimulationRun::create(settings);
    REQUIRE(site);
    return std::move(site).value();
  }
  // What comes back to one read of the identity.
  std::vector<std::uint8_t> ask() {
    REQUIRE(end.write(read_request(1, kRegIdentity, kIdentitySize)));
    std::vector<std::uint8_t> bytes;
    for (int i = 0; i < 50; ++i) {
      run->step(std::chrono::milliseconds{0});
      end.read(bytes);
    }
    return bytes;
  }
};

int bits_apart(const std::vector<std::uint8_t>& a, const std::vector<std::uint8_t>& b) {
  REQUIRE(a.size() == b.size());
  int bits = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    bits += std::popcount(static_cast<unsigned>(a[i] ^ b[i]));
  }
  return bits;
}

}  // namespace

TEST_CASE("EverySoManiethExchangeIsStruck") {
  Bench bench("from 0 to 3h every 3 first 2 lose reply of box 1\n");
  std::vector<bool> answered;
  for (int i = 0; i < 12; ++i) {
    answered.push_back(!bench.ask().empty());
  }
  CHECK(answered == std::vector<bool>{true, true, false, true, true, false, true, true, true, true,
                                      true, true});
  CHECK(bench.run->faults_struck() == std::vector<std::uint64_t>{2});
}

TEST_CASE("BytesAreBentAsAsked") {
  const auto sound = Bench("").ask();
  REQUIRE(sound.size() == reply_size(kIdentitySize));
  CHECK(bits_apart(Bench("at 0 corrupt reply of box 1 by 5 bits\n").ask(), sound) == 5);
  CHECK(Bench("at 0 cut reply of box 1 after 7 bytes\n").ask() ==
        std::vector<std::uint8_t>(sound.begin(), sound.begin() + 7));
  auto twice = sound;
  twice.insert(twice.end(), sound.begin(), sound.end());
  CHECK(Bench("at 0 repeat reply of box 1\n").ask() == twice);
  const auto noisy = Bench("at 0 noise of 4 bytes before reply of box 1\n").ask();
  REQUIRE(noisy.size() == sound.size() + 4);
  CHECK(std::equal(sound.begin(), sound.end(), noisy.begin() + 4));
  const auto refused = Bench("at 0 refuse request of box 1 with 6\n").ask();
  REQUIRE(refused.size() == 5);
  CHECK(refused[1] == (kReadHoldingRegisters | kExceptionBit));
  CHECK(refused[2] == 6);
  CHECK(Bench("at 0 corrupt request of box 1\n").ask().empty());
  CHECK(Bench("at 0 lose request of box 1\n").ask().empty());
}

TEST_CASE("EachByteIsOneMoreAtEachUse") {
  Bench bench("from 0 to 3h cut reply of box 1 after each byte\n");
  for (std::size_t i = 0; i < 10; ++i) {
    CHECK(bench.ask().size() == i);
  }
}

TEST_CASE("AnEchoComesBeforeTheReply") {
  Bench bench("at 0 echo on line 1\n");
  const auto request = read_request(1, kRegIdentity, kIdentitySize);
  const auto bytes = bench.ask();
  REQUIRE(bytes.size() == request.size() + reply_size(kIdentitySize));
  CHECK(std::equal(request.begin(), request.end(), bytes.begin()));
}

TEST_CASE("OnlyTheNamedKindOfRequestIsStruck") {
  Bench bench("from 0 to 3h lose reply to window of box 1\n");
  CHECK_FALSE(bench.ask().empty());
  using line::RequestAbout;
  const auto window = read_request(1, kRegWindow + kWindowStride, 10);
  CHECK(line::is_about(window, RequestAbout::window));
  CHECK_FALSE(line::is_about(window, RequestAbout::identity));
  CHECK(line::is_about(read_request(1, kRegLost, kLostSize), RequestAbout::lost));
  const std::vector<std::uint8_t> release{
      1, kWriteMultipleRegisters, kRegRelease >> 8U, kRegRelease & 0xffU, 0, 4};
  CHECK(line::is_about(release, RequestAbout::release));
  CHECK_FALSE(line::is_about(release, RequestAbout::select));
  CHECK_FALSE(line::is_about(std::vector<std::uint8_t>{1, 3}, RequestAbout::release));
}

TEST_CASE("SwappedLinesLeadToEachOthersBoxes") {
  const TemporaryFolder folder;
  auto scenario = script::scenario_from_text(
      "start 2026-03-02T07:00:00Z\nlength 3h\nbox 1 unit 1 line 1\nbox 2 unit 1 line 2\n"
      "at 0 swap line 1 and line 2\n",
      "t");
  REQUIRE(scenario);
  RunSettings settings;
  settings.scenario = std::move(scenario).value();
  settings.time_socket = folder.file("time");
  place_on_ports(settings, folder.file("tty"));
  const auto run = SimulationRun::create(settings);
  REQUIRE(run);
  const Descriptor end = opened_line(folder.file("tty"));
  REQUIRE(end.write(read_request(1, kRegIdentity, kIdentitySize)));
  std::vector<std::uint8_t> bytes;
  for (int i = 0; i < 50; ++i) {
    run.value()->step(std::chrono::milliseconds{0});
    end.read(bytes);
  }
  REQUIRE(bytes.size() == reply_size(kIdentitySize));
  const std::size_t last_of_serial = 3 + 2 * kIdentitySerial + 7;
  CHECK((bytes[last_of_serial - 1] << 8 | bytes[last_of_serial]) == 1002);
}
