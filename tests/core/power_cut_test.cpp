// Power cut at every byte the ring writes, and at every byte a box writes while a master collects.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdint>
#include <vector>

#include "fake_flash.hpp"
#include "firmware-sim/core/record_ring.hpp"
#include "ring_model.hpp"

using namespace firmware::core;
using Kind = RingOperation::Kind;

namespace {

struct Shape {
  std::size_t block_size;
  std::size_t blocks;
};

// After a cut in `operation`: the ring must stand before it or after it, or, for a release, in
// between; what the recovering start() gave up for a new block must be counted as lost. Sets the
// model to what stands.
void adopt_after_cut(RingUnderTest& test, const RingModel& before, const RingModel& done) {
  RecordRing& ring = test.ring();
  RingModel now = before;
  REQUIRE(ring.boot() > before.boot);
  now.boot = ring.boot();
  if (ring.next_ordinal() != before.next_ordinal()) {
    REQUIRE(ring.next_ordinal() == done.next_ordinal());
    now.keys = done.keys;
  }
  const std::uint32_t newly_lost =
      ring.lost().total - static_cast<std::uint32_t>(before.lost.size());
  REQUIRE(ring.first_held() >= before.first_held + newly_lost);
  now.first_held = ring.first_held() - newly_lost;
  REQUIRE(now.first_held <= std::max(before.first_held, done.first_held));
  now.lose_up_to(ring.first_held());
  if (listed_keys(ring.lost()).size() < now.lost.size() - before.forgotten) {
    now.forgotten = done.forgotten;
  }
  test.model() = now;
  require_same(ring, test.model());
}

// Runs `operations` with power failing after `cut` bytes; false when it never failed.
bool run_with_cut(Shape shape, const std::vector<RingOperation>& operations, std::uint64_t cut) {
  FakeFlash flash(shape.block_size, shape.blocks, static_cast<std::uint32_t>(cut + 1));
  RingUnderTest test(flash);
  flash.cut_after(cut);
  for (const RingOperation& operation : operations) {
    const RingModel before = test.model();
    const RingModel done = test.after(operation);
    if (test.run(operation) == Status::ok) {
      test.follow(operation, done);
      continue;
    }
    REQUIRE_FALSE(flash.powered());
    // The start that finds the damage is cut as well, at a byte that differs from run to run.
    flash.power_up();
    flash.cut_after(cut % 190);
    if (test.run({Kind::restart, 0}) != Status::ok) {
      REQUIRE_FALSE(flash.powered());
    }
    flash.power_up();
    REQUIRE(test.run({Kind::restart, 0}) == Status::ok);
    adopt_after_cut(test, before, done);
    for (const RingOperation& more : random_operations(14, static_cast<std::uint32_t>(cut + 1))) {
      test.step(more);
    }
    require_same(test.ring(), test.model());
    REQUIRE(flash.rule_breaks() == 0);
    return true;
  }
  return false;
}

}  // namespace

TEST_CASE("PowerCutAtEveryByteLosesRepeatsAndTearsNothing") {
  const Shape shape = GENERATE(Shape{256, 4}, Shape{512, 3});
  const std::uint32_t seed = 11;
  INFO("seed " << seed << ", " << shape.blocks << " blocks of " << shape.block_size);
  const auto operations = random_operations(shape.block_size == 256 ? 60 : 120, seed);
  std::uint64_t cut = 0;
  while (run_with_cut(shape, operations, cut)) {
    ++cut;
  }
  FakeFlash undisturbed(shape.block_size, shape.blocks);
  RingUnderTest test(undisturbed);
  for (const RingOperation& operation : operations) {
    test.step(operation);
  }
  CHECK(cut == undisturbed.bytes_written());
  CHECK(undisturbed.erases().front() >= 2);  // several revolutions
}
