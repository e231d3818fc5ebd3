#include "firmware-sim/core/probe_box.hpp"

#include <array>
#include <catch2/catch.hpp>
#include <cstdint>
#include <limits>
#include <random>
#include <vector>

#include "tests/core/box_master.hpp"
#include "tests/core/fake_flash.hpp"

using namespace firmware::core;

namespace {

constexpr BoxSettings kSettings{.address = 5, .serial = 0x1122334455667788};

// A started box with `samples` samples taken one minute apart.
struct Bench {
  FakeFlash flash{512, 6};
  ProbeBox box{flash, kSettings};
  BoxMaster master{box};
  explicit Bench(std::uint32_t samples = 0) {
    REQUIRE(box.start() == Status::ok);
    take(samples);
  }
  void take(std::uint32_t samples) {
    for (std::uint32_t i = 0; i < samples; ++i) {
      REQUIRE(take_sample(box) == Status::ok);
    }
  }
};

}  // namespace

TEST_CASE("BoxWithSettingsOutOfRangeDoesNotStart") {
  FakeFlash flash(512, 6);
  const auto status_with = [&flash](auto change) {
    BoxSettings settings = kSettings;
    change(settings);
    return ProbeBox(flash, settings).start();
  };
  CHECK(status_with([](BoxSettings& s) { s.address = 0; }) == Status::invalid_argument);
  CHECK(status_with([](BoxSettings& s) { s.address = 248; }) == Status::invalid_argument);
  CHECK(status_with([](BoxSettings& s) { s.serial = 0; }) == Status::invalid_argument);
  CHECK(status_with([](BoxSettings& s) { s.fitted_channels = 9; }) == Status::invalid_argument);
  CHECK(status_with([](BoxSettings& s) { s.sample_interval_s = 0; }) == Status::invalid_argument);
  CHECK(status_with([](BoxSettings& s) { s.sample_interval_s = 3601; }) ==
        Status::invalid_argument);
  CHECK(status_with([](BoxSettings&) {}) == Status::ok);
}

TEST_CASE("NothingWorksBeforeStart") {
  FakeFlash flash(512, 6);
  ProbeBox box(flash, kSettings);
  std::array<std::uint8_t, kMaxRtuFrame> reply{};
  std::size_t length = 0;
  CHECK(box.store_sample({}) == Status::not_started);
  CHECK(box.answer({}, reply, length) == Status::not_started);
}

TEST_CASE("IdentityAndLiveBlockShowTheBox") {
  Bench bench(3);
  bench.box.set_ticks(std::numeric_limits<std::uint64_t>::max() - 1);
  const BoxIdentity identity = bench.master.identity();
  CHECK(identity.serial == kSettings.serial);
  CHECK(identity.firmware == kFirmwareVersion);
  CHECK(identity.fitted_channels == 6);
  CHECK(identity.sample_interval_s == 60);
  CHECK(identity.boot == 1);
  CHECK(identity.ticks_ms == std::numeric_limits<std::uint64_t>::max() - 1);
  CHECK(identity.held == 3);
  CHECK(identity.capacity == 5 * 8);
  CHECK(identity.oldest == RecordKey{1, 1});
  CHECK(identity.newest == RecordKey{1, 3});
  LiveSample live;
  REQUIRE(decode_live(bench.master.read(kRegLive, kLiveSize), live) == DecodeStatus::ok);
  CHECK(live.sequence == 3);
  CHECK(live.sample == sample_for(1, 3));
}

TEST_CASE("BoxStaysSilentForOthersForBroadcastsAndForBrokenFrames") {
  Bench bench(1);
  const Request identity{
      .unit = 5, .function = 3, .address = 0, .quantity = kIdentitySize, .values = {}};
  std::array<std::uint8_t, kMaxRtuFrame> frame{};
  std::array<std::uint8_t, kMaxRtuFrame> reply{};
  std::size_t frame_length = 0;
  std::size_t length = 1;
  for (const std::uint8_t unit : std::vector<std::uint8_t>{0, 4, 6, 247, 255}) {
    Request other = identity;
    other.unit = unit;
    REQUIRE(build_request(other, frame, frame_length) == FrameStatus::ok);
    CHECK(bench.box.answer(std::span(frame).first(frame_length), reply, length) == Status::ok);
    CHECK(length == 0);
  }
  REQUIRE(build_request(identity, frame, frame_length) == FrameStatus::ok);
  for (std::size_t bit = 0; bit < 8 * frame_length; ++bit) {
    auto broken = frame;
    broken[bit / 8] = static_cast<std::uint8_t>(broken[bit / 8] ^ (1U << (bit % 8)));
    CHECK(bench.box.answer(std::span(broken).first(frame_length), reply, length) == Status::ok);
    CHECK(length == 0);
  }
  CHECK(bench.box.answer(std::span(frame).first(frame_length),
                         std::span(reply).first(kMaxRtuFrame - 1),
                         length) == Status::invalid_argument);
}

TEST_CASE("ExceptionsAreThoseOfTheSpecification") {
  Bench bench(10);
  const auto read = [&](std::uint16_t address, std::uint16_t quantity) {
    return bench.master.exception_to_raw(
        {3, static_cast<std::uint8_t>(address >> 8U), static_cast<std::uint8_t>(address & 0xffU),
         static_cast<std::uint8_t>(quantity >> 8U), static_cast<std::uint8_t>(quantity & 0xffU)});
  };
  for (const std::uint8_t function : std::vector<std::uint8_t>{1, 2, 5, 7, 15, 22, 23, 43, 100}) {
    CHECK(bench.master.exception_to_raw({function, 0, 0, 0, 1}) == kIllegalFunction);
  }
  CHECK(read(0, 0) == kIllegalDataValue);
  CHECK(read(0, 126) == kIllegalDataValue);
  CHECK(read(0, kIdentitySize) == 0);
  CHECK(read(0, kIdentitySize + 1) == kIllegalDataAddress);
  CHECK(read(kIdentitySize, 1) == kIllegalDataAddress);
  CHECK(read(0x00ff, 1) == kIllegalDataAddress);
  CHECK(read(0x00ff, 2) == kIllegalDataAddress);
  CHECK(read(kRegLive + 16, 1) == 0);
  CHECK(read(kRegLost, kLostSize) == 0);
  CHECK(read(kRegWindow + kWindowSize, 1) == kIllegalDataAddress);
  CHECK(read(kRegWindow + 15 * kWindowStride, kWindowSize) == 0);
  CHECK(read(kRegWindow + 15 * kWindowStride, kWindowSize + 1) == kIllegalDataAddress);
  CHECK(read(kRegSelect, kCommandSize) == 0);
  CHECK(read(kRegRelease, kCommandSize) == 0);
  CHECK(read(kRegRelease + kCommandSize, 1) == kIllegalDataAddress);
  CHECK(read(kRegSampleInterval, 1) == 0);
  CHECK(read(kRegSampleInterval, 2) == kIllegalDataAddress);
  CHECK(read(0xffff, 1) == kIllegalDataAddress);
  CHECK(read(0xffff, 2) == kIllegalDataAddress);
  CHECK(bench.master.exception_to_raw({3, 0, 0, 0, 1, 0}) == kIllegalDataValue);  // a byte too many
  CHECK(bench.master.exception_to_raw({6, 0, 0, 0, 1}) == kIllegalDataAddress);   // read only
  CHECK(bench.master.exception_to_raw({16, 0, 0, 0, 1, 2, 0, 1}) == kIllegalDataAddress);
  CHECK(bench.master.exception_to_raw({16, 0x0a, 0x20, 0, 1, 3, 0, 1, 0}) == kIllegalDataValue);
}

TEST_CASE("ExceptionFourTellsThatMemoryFailed") {
  Bench bench(10);
  REQUIRE(bench.master.select({0, 0}) == 0);
  bench.flash.cut_after(0);
  CHECK(take_sample(bench.box) == Status::memory_fault);
  CHECK(bench.master.exception_to_raw({3, 0x02, 0x00, 0x00, 0x01}) == kServerDeviceFailure);
  bench.flash.power_up();
  CHECK(take_sample(bench.box) == Status::ok);
  CHECK(bench.box.sequence() == 11);
}

TEST_CASE("MasterCollectsEverythingInOrderThroughWindows") {
  Bench bench(38);
  REQUIRE(bench.master.select({0, 0}) == 0);
  std::vector<BoxRecord> all;
  for (std::size_t k = 0; k < kWindows; ++k) {
    const auto part = bench.master.window(k);
    CHECK(part.size() == (k < 7 ? 5 : k == 7 ? 3 : 0));
    CHECK(part == bench.master.window(k));  // reading again gives the same
    all.insert(all.end(), part.begin(), part.end());
  }
  REQUIRE(all.size() == 38);
  for (std::uint32_t i = 0; i < all.size(); ++i) {
    CHECK(all[i].key() == RecordKey{1, i + 1});
    CHECK(all[i].sample == sample_for(1, i + 1));
  }
  CHECK(bench.master.release({1, 38}) == 0);
  CHECK(bench.box.held() == 0);
  CHECK(bench.box.released() == RecordKey{1, 38});
}

TEST_CASE("WindowsAreEmptyBeforeASelect") {
  Bench bench(10);
  CHECK(bench.master.window(0).empty());
  CHECK(bench.master.release({1, 1}) == kIllegalDataValue);
}

TEST_CASE("SelectTakesTheNextHeldRecordAfterTheOneWanted") {
  Bench bench(12);
  REQUIRE(bench.box.start() == Status::ok);  // boot 2
  bench.take(3);
  REQUIRE(bench.master.select({1, 11}) == 0);
  REQUIRE(bench.master.window(0).size() == 5);
  CHECK(bench.master.window(0)[0].key() == RecordKey{1, 11});
  CHECK(bench.master.window(0)[2].key() == RecordKey{2, 1});
  REQUIRE(bench.master.select({1, 900}) == 0);
  CHECK(bench.master.window(0)[0].key() == RecordKey{2, 1});
  REQUIRE(bench.master.select({2, 4}) == 0);  // the next one to come
  CHECK(bench.master.window(0).empty());
  bench.take(1);
  CHECK(bench.master.window(0)[0].key() == RecordKey{2, 4});
  CHECK(bench.master.select({2, 6}) == kIllegalDataValue);
  CHECK(bench.master.select({3, 1}) == kIllegalDataValue);
  CHECK(bench.master.select({0, 1}) == kIllegalDataValue);
  CHECK(bench.master.select({1, 0}) == kIllegalDataValue);
}

TEST_CASE("OnlyWhatWasReadWithoutAGapCanBeReleased") {
  Bench bench(30);
  REQUIRE(bench.master.select({0, 0}) == 0);
  CHECK(bench.master.release({1, 1}) == kIllegalDataValue);
  CHECK(bench.master.window(1).size() == 5);  // 6..10, while 1..5 are unread
  CHECK(bench.master.release({1, 6}) == kIllegalDataValue);
  CHECK(bench.master.window(0).size() == 5);
  CHECK(bench.master.release({1, 6}) == kIllegalDataValue);  // window 1 was read too early
  CHECK(bench.master.window(1).size() == 5);
  CHECK(bench.master.release({1, 11}) == kIllegalDataValue);
  CHECK(bench.master.release({2, 1}) == kIllegalDataValue);
  CHECK(bench.master.release({0, 0}) == kIllegalDataValue);
  CHECK(bench.box.held() == 30);
  CHECK(bench.master.release({1, 10}) == 0);
  CHECK(bench.box.held() == 20);

  REQUIRE(bench.master.select({1, 21}) == 0);  // leaves 11..20 out
  CHECK(bench.master.window(0).size() == 5);
  CHECK(bench.master.release({1, 25}) == kIllegalDataValue);
  CHECK(bench.box.held() == 20);
}

TEST_CASE("APartlyReadWindowCountsForItsWholeRecordsOnly") {
  Bench bench(10);
  REQUIRE(bench.master.select({0, 0}) == 0);
  CHECK(bench.master.read(kRegWindow + 1, 105).size() == 105);  // without the count
  CHECK(bench.master.release({1, 1}) == kIllegalDataValue);
  CHECK(bench.master.read(kRegWindow, 1 + 2 * kRecordSize + 20).size() == 63);
  CHECK(bench.master.release({1, 3}) == kIllegalDataValue);
  CHECK(bench.master.release({1, 2}) == 0);
}

TEST_CASE("ReleaseRepeatedAfterALostReplyIsDone") {
  Bench bench(10);
  REQUIRE(bench.master.select({0, 0}) == 0);
  bench.master.window(0);
  bench.master.window(1);
  CHECK(bench.master.release({1, 5}) == 0);
  CHECK(bench.master.release({1, 5}) == 0);
  CHECK(bench.master.release({1, 3}) == 0);
  CHECK(bench.box.held() == 5);
  CHECK(bench.master.release({1, 10}) == 0);
  CHECK(bench.master.release({1, 10}) == 0);  // nothing held any more
  CHECK(bench.master.release({1, 11}) == kIllegalDataValue);
  REQUIRE(bench.box.start() == Status::ok);
  CHECK(bench.master.release({1, 10}) == 0);
  CHECK(bench.box.held() == 0);
}

TEST_CASE("AfterASelfResetTheMasterMustReadAgain") {
  Bench bench(10);
  REQUIRE(bench.master.select({0, 0}) == 0);
  bench.master.window(0);
  REQUIRE(bench.box.start() == Status::ok);
  CHECK(bench.master.release({1, 5}) == kIllegalDataValue);
  CHECK(bench.master.window(0).empty());
  REQUIRE(bench.master.select({1, 1}) == 0);
  CHECK(bench.master.window(0).size() == 5);
  CHECK(bench.master.release({1, 5}) == 0);
}

TEST_CASE("CommandsWrittenInPartAreRefused") {
  Bench bench(10);
  REQUIRE(bench.master.select({0, 0}) == 0);
  bench.master.window(0);
  for (const std::uint8_t low : std::vector<std::uint8_t>{0x00, 0x10}) {  // select and release
    for (std::uint8_t offset = 0; offset < 4; ++offset) {
      const auto at = static_cast<std::uint8_t>(low + offset);
      CHECK(bench.master.exception_to_raw({6, 0x0a, at, 0, 1}) == kIllegalDataValue);
      CHECK(bench.master.exception_to_raw({16, 0x0a, at, 0, 1, 2, 0, 1}) == kIllegalDataValue);
    }
    CHECK(bench.master.exception_to_raw({16, 0x0a, low, 0, 3, 6, 0, 0, 0, 1, 0, 0}) ==
          kIllegalDataValue);
    CHECK(bench.master.exception_to_raw({16, 0x0a, low, 0, 5, 10, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0}) ==
          kIllegalDataValue);
  }
  CHECK(bench.box.held() == 10);
}

TEST_CASE("BroadcastsNeverSelectOrRelease") {
  Bench bench(10);
  REQUIRE(bench.master.select({0, 0}) == 0);
  bench.master.window(0);
  bench.master.broadcast_command(kRegRelease, {1, 5});
  CHECK(bench.box.held() == 10);
  bench.master.broadcast_command(kRegSelect, {1, 6});
  CHECK(bench.master.window(0)[0].key() == RecordKey{1, 1});
}

TEST_CASE("LostRangesLeaveTheListWithTheReleaseAfterTheyWereRead") {
  Bench bench(60);
  const LostBlock lost = bench.master.lost();
  REQUIRE(lost.count == 1);
  CHECK(lost.ranges[0] == LostRange{1, 1, bench.master.identity().oldest.sequence - 1});
  REQUIRE(bench.box.start() == Status::ok);
  REQUIRE(bench.master.select({0, 0}) == 0);
  const auto records = bench.master.window(0);
  CHECK(bench.master.release(records[0].key()) == 0);
  CHECK(bench.master.read(kRegLost, 3).u16(kLostCount) == 1);  // not read whole in this boot yet
  CHECK(bench.master.release(records[1].key()) == 0);
  CHECK(bench.master.lost() == lost);
  CHECK(bench.master.release(records[2].key()) == 0);
  CHECK(bench.master.lost().count == 0);
  CHECK(bench.master.lost().total == lost.total);
}

TEST_CASE("SampleIntervalIsSetInRangeAndKept") {
  Bench bench;
  CHECK(bench.master.exception_to_raw({6, 0x0a, 0x20, 0, 0}) == kIllegalDataValue);
  CHECK(bench.master.exception_to_raw({6, 0x0a, 0x20, 0x0e, 0x11}) == kIllegalDataValue);  // 3601
  CHECK(bench.master.exception_to_raw({16, 0x0a, 0x20, 0, 2, 4, 0, 1, 0, 1}) ==
        kIllegalDataAddress);
  CHECK(bench.box.sample_interval_s() == 60);
  CHECK(bench.master.exception_to_raw({6, 0x0a, 0x20, 0x0e, 0x10}) == 0);
  CHECK(bench.box.sample_interval_s() == 3600);
  CHECK(bench.master.exception_to_raw({16, 0x0a, 0x20, 0, 1, 2, 0, 30}) == 0);
  bench.take(1);
  REQUIRE(bench.box.start() == Status::ok);
  CHECK(bench.master.identity().sample_interval_s == 30);
}

TEST_CASE("SampleWithAStatusThatDoesNotFitIsRefused") {
  Bench bench;
  Sample sample;
  sample.statuses[7] = 16;
  CHECK(bench.box.store_sample(sample) == Status::invalid_argument);
  CHECK(bench.box.held() == 0);
}

// A stray master that writes anything anywhere, without having read, changes nothing that is held.
TEST_CASE("AStrayMasterReleasesNothing") {
  const std::uint32_t seed = 4;
  INFO("seed " << seed);
  std::minstd_rand random(seed);
  Bench bench(35);
  for (int i = 0; i < 20000; ++i) {
    std::vector<std::uint8_t> pdu;
    if (i % 2 == 0) {
      pdu = {16, 0x0a, static_cast<std::uint8_t>(random() % 0x24), 0, 4, 8};
      for (int b = 0; b < 8; ++b) {
        pdu.push_back(b % 4 == 3 ? static_cast<std::uint8_t>(random() % 40) : std::uint8_t{0});
      }
    } else {
      for (std::size_t n = 1 + random() % 20; pdu.size() < n;) {
        pdu.push_back(static_cast<std::uint8_t>(random()));
      }
      pdu[0] = random() % 2 == 0 ? 6 : 16;
    }
    static_cast<void>(bench.master.exception_to_raw(pdu));
  }
  CHECK(bench.box.held() == 35);
  CHECK(bench.master.identity().oldest == RecordKey{1, 1});
}

TEST_CASE("BroadcastReadsAreIgnored") {
  FakeFlash flash(512, 4);
  ProbeBox box(flash, {.address = 1, .serial = 42});
  REQUIRE(box.start() == Status::ok);
  std::array<std::uint8_t, kMaxRtuFrame> frame{};
  std::size_t length = 0;
  REQUIRE(build_request({.unit = kBroadcastUnit,
                         .function = kReadHoldingRegisters,
                         .address = kRegSampleInterval,
                         .quantity = 1,
                         .values = {}},
                        frame, length) == FrameStatus::ok);
  std::array<std::uint8_t, kMaxRtuFrame> answer{};
  std::size_t answered = 0;
  CHECK(box.answer(std::span(frame).first(length), answer, answered) == Status::ok);
  CHECK(answered == 0);
}
