#include "firmware-sim/core/record_ring.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdint>
#include <vector>

#include "tests/core/fake_flash.hpp"
#include "tests/core/ring_model.hpp"

using namespace firmware::core;
using Kind = RingOperation::Kind;

namespace {

constexpr RingOperation kAppend{Kind::append, 0};
constexpr RingOperation kRestart{Kind::restart, 0};
constexpr RingOperation kReleaseAll{Kind::release, 999};

void append(RingUnderTest& test, std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) {
    test.step(kAppend);
  }
}

}  // namespace

TEST_CASE("MemoryThatCannotHoldARingIsRefused") {
  FakeFlash too_few(256, 2);
  CHECK(RecordRing(too_few).start() == Status::invalid_argument);
  FakeFlash too_small(255, 8);
  CHECK(RecordRing(too_small).start() == Status::invalid_argument);
  FakeFlash smallest(256, 3);
  CHECK(RecordRing(smallest).start() == Status::ok);
}

TEST_CASE("MemoryFullOfRubbishCountsAsEmpty") {
  for (const int byte : {0x00, 0x55, 0xa5}) {
    FakeFlash flash(512, 4);
    flash.fill_with(static_cast<std::uint8_t>(byte));
    RingUnderTest test(flash);
    test.step(kRestart);
    append(test, 40);
    test.step(kRestart);
    require_same(test.ring(), test.model());
    CHECK(flash.rule_breaks() == 0);
  }
}

TEST_CASE("RandomOperationsAgreeWithTheReference") {
  struct Shape {
    std::size_t block_size;
    std::size_t blocks;
  };
  const Shape shape = GENERATE(Shape{256, 3}, Shape{256, 5}, Shape{600, 4}, Shape{1024, 9});
  for (std::uint32_t seed = 1; seed <= 500; ++seed) {
    INFO("seed " << seed << ", " << shape.blocks << " blocks of " << shape.block_size);
    FakeFlash flash(shape.block_size, shape.blocks, seed);
    RingUnderTest test(flash);
    for (const RingOperation& operation : random_operations(60, seed)) {
      test.step(operation);
      require_same(test.ring(), test.model());
    }
    REQUIRE(flash.rule_breaks() == 0);
  }
}

TEST_CASE("WearIsEvenWithinOneErase") {
  const std::uint32_t seed = GENERATE(1U, 2U);
  INFO("seed " << seed);
  FakeFlash flash(512, 7, seed);
  RingUnderTest test(flash);
  for (const RingOperation& operation : random_operations(4000, seed)) {
    test.step(operation);
  }
  require_same(test.ring(), test.model());
  const auto [least, most] = std::minmax_element(flash.erases().begin(), flash.erases().end());
  CHECK(*least > 20);
  CHECK(*most - *least <= 1);
}

TEST_CASE("ASettingIsDurableWithTheNextRecordAndUsesNoSlotBefore") {
  FakeFlash flash(512, 4);
  RingUnderTest test(flash);
  test.step(kRestart);
  const std::uint64_t before = flash.bytes_written();
  for (std::uint16_t value = 1; value < 1000; ++value) {
    test.ring().set_setting(value);
  }
  CHECK(flash.bytes_written() == before);
  test.step(kRestart);
  CHECK(test.ring().setting() == 0);
  test.ring().set_setting(30);
  append(test, 1);
  test.step(kRestart);
  CHECK(test.ring().setting() == 30);
  append(test, 100);  // through block headers
  test.step(kRestart);
  CHECK(test.ring().setting() == 30);
}

TEST_CASE("FindGivesTheFirstHeldRecordAtOrAfterAKey") {
  FakeFlash flash(600, 8);
  RingUnderTest test(flash);
  for (const RingOperation& operation : random_operations(400, 7)) {
    test.step(operation);
  }
  append(test, 20);
  const RingModel& model = test.model();
  for (std::uint32_t boot = 0; boot <= model.boot + 1; ++boot) {
    for (std::uint32_t sequence = 0; sequence < 40; ++sequence) {
      const RecordKey key{boot, sequence};
      const auto from = model.keys.begin() + model.first_held;
      const auto expected = std::lower_bound(from, model.keys.end(), key);
      std::uint32_t ordinal = 0;
      bool exact = false;
      REQUIRE(test.ring().find(key, ordinal, exact) == Status::ok);
      CHECK(ordinal == static_cast<std::uint32_t>(expected - model.keys.begin()));
      CHECK(exact == (expected != model.keys.end() && *expected == key));
    }
  }
}

TEST_CASE("RingHoldsItsCapacityBeforeAnythingIsLost") {
  FakeFlash flash(512, 6);
  RingUnderTest test(flash);
  test.step(kRestart);  // its boot stands in the first header and takes no slot
  append(test, test.ring().capacity());
  CHECK(test.ring().held() == test.ring().capacity());
  CHECK(test.ring().lost().total == 0);
  append(test, 1);
  CHECK(test.ring().lost().total == test.ring().slots_per_block());
  CHECK(test.ring().lost().count == 1);
  CHECK(test.ring().lost().ranges[0] == LostRange{1, 1, test.ring().slots_per_block()});
}

TEST_CASE("OverflowIsOneRangeABootAndOutlivesReboots") {
  FakeFlash flash(512, 4);  // 8 slots a block
  RingUnderTest test(flash);
  test.step(kRestart);
  append(test, 10);
  test.step({Kind::release, 250});  // 1..3 are released and never counted as lost
  test.step(kRestart);
  append(test, 60);
  test.step(kRestart);
  test.step(kRestart);
  require_same(test.ring(), test.model());
  const LostBlock& lost = test.ring().lost();
  REQUIRE(lost.count == 2);
  CHECK(lost.ranges[0] == LostRange{1, 4, 10});
  CHECK(lost.ranges[1] == LostRange{2, 1, test.ring().oldest().sequence - 1});
  CHECK(lost.total == 7 + test.ring().oldest().sequence - 1);

  const std::uint32_t total = lost.total;
  append(test, 30);  // more is lost after the master read the list
  const std::uint32_t later = test.ring().lost().total;
  REQUIRE(later > total);
  REQUIRE(test.ring().forget_lost(total) == Status::ok);
  test.model().forgotten = total;
  require_same(test.ring(), test.model());
  test.step(kRestart);
  require_same(test.ring(), test.model());
  CHECK(test.ring().lost().total == later);
}

TEST_CASE("MoreRangesThanListedStayInTheTotal") {
  FakeFlash flash(256, 3);
  RingUnderTest test(flash);
  for (int boot = 0; boot < 30; ++boot) {
    test.step(kRestart);
    append(test, 2);
  }
  CHECK(test.ring().lost().count == kLostRanges);
  CHECK(test.ring().lost().total == test.model().lost.size());
  require_same(test.ring(), test.model());
}

TEST_CASE("RebootsWithoutRecordsHardlyUseTheRing") {
  FakeFlash flash(512, 4);
  RingUnderTest test(flash);
  test.step(kRestart);
  append(test, 4);
  const std::uint64_t before = flash.bytes_written();
  for (int boot = 0; boot < 17; ++boot) {
    test.step(kRestart);
  }
  CHECK(flash.bytes_written() - before < 17 * 4 + kRecordBytes);
  CHECK(test.ring().boot() == 18);
  append(test, 1);
  test.step(kRestart);
  require_same(test.ring(), test.model());
}

TEST_CASE("ReleasedRecordsNeverComeBack") {
  FakeFlash flash(512, 4);
  RingUnderTest test(flash);
  test.step(kRestart);
  append(test, 20);
  test.step(kReleaseAll);
  CHECK(test.ring().held() == 0);
  CHECK(test.ring().released() == RecordKey{1, 20});
  test.step(kRestart);
  CHECK(test.ring().held() == 0);
  CHECK(test.ring().released() == RecordKey{1, 20});
  CHECK(test.ring().release_through(3) == Status::ok);
  CHECK(test.ring().release_through(20) == Status::invalid_argument);
}

TEST_CASE("RecordsOutOfOrderAreRefused") {
  FakeFlash flash(512, 4);
  RecordRing ring(flash);
  REQUIRE(ring.start() == Status::ok);
  REQUIRE(ring.append(record_for({1, 5}, 0)) == Status::ok);
  CHECK(ring.append(record_for({1, 5}, 1)) == Status::invalid_argument);
  CHECK(ring.append(record_for({1, 4}, 1)) == Status::invalid_argument);
  CHECK(ring.append(record_for({1, 0}, 1)) == Status::invalid_argument);
  CHECK(ring.held() == 1);
}

TEST_CASE("ASlotThatDoesNotReadBackIsGivenUp") {
  FakeFlash flash(512, 4);
  RingUnderTest test(flash);
  flash.stick_lowest_bit_at(512 + 144 + 44 + 3);  // second slot of the first block used, boot id
  test.step(kRestart);
  test.step(kRestart);  // boot 2: its lowest byte needs the stuck bit clear
  append(test, 5);
  test.step(kRestart);
  require_same(test.ring(), test.model());
}

TEST_CASE("ADecayedRecordIsNeverDeliveredAndHoldsNothingUp") {
  FakeFlash flash(512, 5);
  RingUnderTest test(flash);
  test.step(kRestart);
  append(test, 20);
  flash.flip_bit_at(512 + 144 + 3 * 44 + 20);  // record 4, in the first block
  std::vector<BoxRecord> all = read_all(test.ring(), 5);
  REQUIRE(all.size() == 19);
  CHECK(std::none_of(all.begin(), all.end(), [](const BoxRecord& r) { return r.sequence == 4; }));
  std::uint32_t ordinal = 0;
  bool exact = false;
  REQUIRE(test.ring().find({1, 20}, ordinal, exact) == Status::ok);
  CHECK(exact);
  CHECK(test.ring().release_through(ordinal) == Status::ok);
  CHECK(test.ring().held() == 0);
}

TEST_CASE("StartReadsHeadersAndAFewBlocksOnly") {
  FakeFlash flash(4096, 64);  // 256 KiB
  RingUnderTest test(flash);
  test.step(kRestart);
  append(test, 7000);
  test.step({Kind::release, 500});
  const std::uint64_t before = flash.bytes_read();
  test.step(kRestart);
  const std::uint64_t bytes = flash.bytes_read() - before;
  CHECK(bytes < 64 * 2 * 144 + 5 * 4096);
}

TEST_CASE("WindowsReadOnWithoutSearching") {
  FakeFlash flash(4096, 64);
  RingUnderTest test(flash);
  test.step(kRestart);
  append(test, 5000);
  std::uint64_t worst = 0;
  std::vector<BoxRecord> part(5);
  for (std::uint32_t from = 0; from < 5000; from += 5) {
    std::size_t count = 0;
    const std::uint64_t before = flash.bytes_read();
    REQUIRE(test.ring().read(from, part, count) == Status::ok);
    REQUIRE(count == 5);
    worst = from == 0 ? 0 : std::max(worst, flash.bytes_read() - before);
  }
  CHECK(worst <= 5 * 44 + 140);
}

TEST_CASE("ABadPlaceIsPassedOverAndEveryLossIsCounted") {
  struct Damage {
    std::vector<std::size_t> worn_out;
    bool stuck_header;
  };
  const Damage damage = GENERATE(Damage{{3}, false}, Damage{{}, true}, Damage{{0, 1}, false},
                                 Damage{{2, 4, 5}, false}, Damage{{0, 3}, true});
  for (std::uint32_t seed = 1; seed <= 25; ++seed) {
    INFO("seed " << seed << ", " << damage.worn_out.size() << " blocks worn out");
    FakeFlash flash(512, 7, seed);
    RingUnderTest test(flash);
    test.step(kRestart);
    append(test, seed % 60);  // in the first revolution or later
    for (const std::size_t block : damage.worn_out) {
      flash.wear_out(block);
    }
    if (damage.stuck_header) {
      flash.stick_lowest_bit_at(6 * 512);  // of the header's first byte, which has it clear
    }
    bool passed = false;
    for (const RingOperation& operation : random_operations(150, seed)) {
      test.step(operation);
      require_same(test.ring(), test.model());
      passed = passed || test.ring().bad_blocks() > 0;
    }
    REQUIRE(flash.rule_breaks() == 0);
    CHECK(passed);
  }
}

TEST_CASE("AMemoryThatFailsForAMomentPassesNothingOver") {
  FakeFlash flash(512, 4);
  RingUnderTest test(flash);
  test.step(kRestart);
  append(test, 100);
  flash.fail_next_erase();
  append(test, 10);
  CHECK(test.ring().bad_blocks() == 0);
  require_same(test.ring(), test.model());
}

TEST_CASE("AMemoryWithoutAGoodBlockSaysSoAndKeepsWhatItHolds") {
  FakeFlash flash(512, 6);
  RingUnderTest test(flash);
  test.step(kRestart);
  append(test, 40);
  for (std::size_t block = 0; block < 6; ++block) {
    flash.wear_out(block);
  }
  Status status = Status::ok;
  std::uint32_t stored = 40;
  for (; status == Status::ok; stored += status == Status::ok ? 1 : 0) {
    status = test.ring().append(record_for({1, stored + 1}, stored));
  }
  CHECK(status == Status::memory_fault);
  for (int again = 0; again < 5; ++again) {
    CHECK(test.ring().append(record_for({1, stored + 1}, stored)) == Status::memory_fault);
  }
  const RecordRing& ring = test.ring();
  CHECK(ring.bad_blocks() == 3);
  CHECK(ring.held() >= ring.slots_per_block());
  CHECK(ring.held() + ring.lost().total == stored);
  REQUIRE(ring.lost().count == 1);
  CHECK(ring.lost().ranges[0] == LostRange{1, 1, ring.oldest().sequence - 1});
  CHECK(read_all(test.ring(), 5).size() == ring.held());
}
