#include "firmware-sim/target/box_loop.hpp"

#include <catch2/catch.hpp>

#include "tests/core/box_master.hpp"
#include "tests/core/fake_flash.hpp"
#include "tests/target/fake_ports.hpp"

using namespace firmware::target;
using firmware::core::BoxIdentity;
using firmware::core::FakeFlash;
using firmware::core::ProbeBox;
using firmware::core::Sample;
using firmware::core::Status;

namespace {

// Ready `takes_ms` after its begin; counts the measurements.
class FakeFrontEnd final : public FrontEnd {
 public:
  void watch(std::uint64_t /*now_ms*/) override { ++watched; }
  void begin(std::uint64_t now_ms) override { begun_ms_ = now_ms; }
  bool poll(std::uint64_t now_ms, Sample& sample) override {
    if (!begun_ms_ || now_ms < *begun_ms_ + takes_ms) {
      return false;
    }
    begun_ms_.reset();
    sample = firmware::core::sample_for(1, ++measured);
    return true;
  }
  std::uint64_t takes_ms = 0;
  std::uint32_t measured = 0;
  std::uint32_t watched = 0;

 private:
  std::optional<std::uint64_t> begun_ms_;
};

// The register map's examples, and one with its check sum computed apart.
const Bytes kAskIdentity = bytes_from_hex("01 03 00 00 00 1c 44 03");
const Bytes kSetInterval10 = bytes_from_hex("01 06 0a 20 00 0a 0b df");
const Bytes kSetInterval30 = bytes_from_hex("01 06 0a 20 00 1e 0b d0");

struct Bench {
  FakeFlash flash{4096, 4};
  ProbeBox box{flash, {.address = 1, .serial = 42}};
  FakeSerial line;
  FakeFrontEnd sensors;
  BoxLoop loop{box, line, sensors};
  std::uint64_t now_ms = 0;

  Bench() { REQUIRE(box.start() == Status::ok); }
  void run_until(std::uint64_t end_ms) {
    for (; now_ms < end_ms; ++now_ms) {
      REQUIRE(loop.step(now_ms) == Status::ok);
    }
  }
};

}  // namespace

TEST_CASE("AReplyComesAfterTheSilenceThatEndsItsRequest") {
  Bench bench;
  bench.run_until(100);
  bench.line.give(kAskIdentity);
  bench.run_until(103);
  CHECK(bench.line.sent.empty());
  bench.run_until(104);
  REQUIRE(bench.line.sent.size() == 1);
  CHECK(bench.line.sent[0].size() == 61);
  CHECK(bench.line.sent[0][4] == 0x57);
  bench.run_until(200);
  CHECK(bench.line.sent.size() == 1);
}

TEST_CASE("ARequestInPiecesIsAnsweredOnce") {
  Bench bench;
  for (const std::uint8_t byte : kAskIdentity) {
    bench.line.give({byte});
    bench.run_until(bench.now_ms + BoxLoop::kSilenceMs);
  }
  bench.run_until(bench.now_ms + 10);
  CHECK(bench.line.sent.size() == 1);
}

TEST_CASE("HalfARequestIsForgottenAfterASilence") {
  Bench bench;
  bench.line.give({0x01, 0x03, 0x00});
  bench.run_until(BoxLoop::kSilenceMs + 2);
  bench.line.give(kAskIdentity);
  bench.run_until(100);
  CHECK(bench.line.sent.size() == 1);
}

TEST_CASE("NoiseAndOtherUnitsGetNoAnswer") {
  Bench bench;
  Bytes wrong = kAskIdentity;
  wrong[7] ^= 1U;
  bench.line.give(wrong);
  bench.run_until(50);
  bench.line.give(bytes_from_hex("02 03 00 00 00 1c 44 30"));
  bench.run_until(100);
  CHECK(bench.line.sent.empty());
}

TEST_CASE("AFunctionOfUnknownLengthIsRefusedAfterTheSilence") {
  Bench bench;
  bench.line.give(bytes_from_hex("01 2b 0e 01 00 70 77"));  // read device identification
  bench.run_until(100);
  REQUIRE(bench.line.sent.size() == 1);
  CHECK(bench.line.sent[0][1] == 0xab);
  CHECK(bench.line.sent[0][2] == firmware::core::kIllegalFunction);
}

TEST_CASE("SamplesComeAtTheInterval") {
  Bench bench;
  bench.run_until(2000);
  CHECK(bench.sensors.watched == 2000);  // contacts are looked at in every round
  CHECK(bench.box.sequence() == 0);
  bench.run_until(2001);
  CHECK(bench.box.sequence() == 1);
  bench.run_until(62000);
  CHECK(bench.box.sequence() == 1);
  bench.run_until(62001);
  CHECK(bench.box.sequence() == 2);
}

TEST_CASE("AShorterIntervalCountsAtOnceAndMakesUpForNothing") {
  Bench bench;
  bench.run_until(50000);
  CHECK(bench.box.sequence() == 1);
  bench.line.give(kSetInterval30);
  bench.run_until(50005);
  REQUIRE(bench.line.sent.size() == 1);
  CHECK(bench.box.sequence() == 2);  // 32 s was over
  bench.run_until(62000);
  CHECK(bench.box.sequence() == 2);
  bench.run_until(62001);
  CHECK(bench.box.sequence() == 3);
}

TEST_CASE("AnIntervalThatIsOverSeveralTimesGivesOneSample") {
  Bench bench;
  bench.run_until(50000);
  bench.line.give(kSetInterval10);
  bench.run_until(50100);
  CHECK(bench.box.sequence() == 2);
  bench.run_until(60000);
  CHECK(bench.box.sequence() == 2);
  bench.run_until(60100);
  CHECK(bench.box.sequence() == 3);
}

TEST_CASE("RequestedSamplesStandBesideThoseOfTheInterval") {
  Bench bench;
  bench.loop.request_sample();
  bench.loop.request_sample();
  bench.run_until(1);
  CHECK(bench.loop.extra_samples_due() == 1);
  bench.run_until(2);
  CHECK(bench.loop.extra_samples_due() == 0);
  CHECK(bench.box.sequence() == 2);
  bench.run_until(2001);
  CHECK(bench.box.sequence() == 3);
}

TEST_CASE("SlowSensorsDoNotKeepAMasterWaiting") {
  Bench bench;
  bench.sensors.takes_ms = 600;
  bench.run_until(2100);
  CHECK(bench.box.sequence() == 0);
  bench.line.give(kAskIdentity);
  bench.run_until(2110);
  CHECK(bench.line.sent.size() == 1);
  bench.run_until(2601);
  CHECK(bench.box.sequence() == 1);
  bench.run_until(62000);
  CHECK(bench.sensors.measured == 1);
}

TEST_CASE("AFailingMemoryIsReportedAndTheLoopGoesOn") {
  Bench bench;
  bench.flash.cut_after(0);
  bench.loop.request_sample();
  CHECK(bench.loop.step(0) == Status::memory_fault);
  CHECK(bench.loop.extra_samples_due() == 0);
  bench.flash.power_up();
  bench.loop.request_sample();
  CHECK(bench.loop.step(1) == Status::ok);
  CHECK(bench.box.sequence() == 1);
}
