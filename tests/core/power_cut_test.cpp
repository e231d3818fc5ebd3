// Power cut at every byte the ring writes, and at every byte a box writes while a master collects.
#include <algorithm>
#include <catch2/catch.hpp>
#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <vector>

#include "firmware-sim/core/probe_box.hpp"
#include "firmware-sim/core/record_ring.hpp"
#include "tests/core/box_master.hpp"
#include "tests/core/fake_flash.hpp"
#include "tests/core/ring_model.hpp"

using namespace firmware::core;
using Kind = RingOperation::Kind;

namespace {

struct Shape {
  std::size_t block_size;
  std::size_t blocks;
  std::optional<std::size_t> worn_out = std::nullopt;  // a block that can't be erased
};

struct ShapedFlash : FakeFlash {
  ShapedFlash(Shape shape, std::uint32_t seed) : FakeFlash(shape.block_size, shape.blocks, seed) {
    if (shape.worn_out) {
      wear_out(*shape.worn_out);
    }
  }
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
  ShapedFlash flash(shape, static_cast<std::uint32_t>(cut + 1));
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

// A box with a master that collects every seventh sample, stays away for a while, and keeps what it
// has committed, while power fails once.
class CollectedRun {
 public:
  explicit CollectedRun(std::uint64_t cut) : flash_(512, 4, static_cast<std::uint32_t>(cut + 1)) {
    flash_.cut_after(cut);
    recover_if_cut(box_.start());
    for (int i = 0; i < 70; ++i) {
      const RecordKey key{box_.boot(), box_.sequence() + 1};
      const Status taken = take_sample(box_);
      if (taken == Status::ok) {
        acknowledged_.insert(key);
      }
      recover_if_cut(taken);
      if (i % 7 == 6 && (i < 20 || i > 50)) {
        collect();
      }
    }
    const bool was_cut = flash_.bytes_written() > cut;
    flash_.power_up();
    collect();
    REQUIRE(box_.held() == 0);
    done_ = !was_cut;
  }

  void require_nothing_lost_unseen() const {
    for (const RecordKey& key : acknowledged_) {
      if (!committed_.contains(key) && !lost_.contains(key)) {
        FAIL("boot " << key.boot << " sequence " << key.sequence << " is missing");
      }
    }
    REQUIRE(lost_total_ == lost_.size());
    REQUIRE(flash_.rule_breaks() == 0);
  }
  [[nodiscard]] bool outlived_by_cut() const { return done_; }
  [[nodiscard]] std::size_t lost() const { return lost_.size(); }

 private:
  void recover_if_cut(Status status) {
    REQUIRE((status == Status::ok || !flash_.powered()));
    if (!flash_.powered()) {
      flash_.power_up();
      REQUIRE(box_.start() == Status::ok);
    }
  }

  // Reads all windows, commits, releases; again until nothing is left.
  void collect() {
    while (box_.held() > 0) {
      const LostBlock lost = master_.lost();
      for (const RecordKey& key : listed_keys(lost)) {
        lost_.insert(key);
      }
      lost_total_ = lost.total;
      REQUIRE(master_.select({0, 0}) == 0);
      RecordKey last;
      for (std::size_t k = 0; 5 * k < box_.held(); ++k) {
        for (const BoxRecord& record : master_.window(k)) {
          const bool whole = record.sample == sample_for(record.boot, record.sequence);
          const bool in_order = record.key() > last && record.key() > released_;
          REQUIRE((whole && in_order));  // what was released is gone for ever
          last = record.key();
          committed_[last] = record.sample;
        }
      }
      if (master_.release(last) == 0) {
        released_ = last;
      }
      recover_if_cut(Status::ok);
    }
  }

  FakeFlash flash_;
  ProbeBox box_{flash_, {.address = 1, .serial = 1}};
  BoxMaster master_{box_};
  std::set<RecordKey> acknowledged_;
  std::map<RecordKey, Sample> committed_;
  std::set<RecordKey> lost_;
  std::uint32_t lost_total_ = 0;
  RecordKey released_;
  bool done_ = false;
};

}  // namespace

TEST_CASE("PowerCutAtEveryByteLosesRepeatsAndTearsNothing") {
  const Shape shape = GENERATE(Shape{256, 4}, Shape{512, 3}, Shape{256, 5, 2}, Shape{512, 4, 0});
  const std::uint32_t seed = 11;
  INFO("seed " << seed << ", " << shape.blocks << " blocks of " << shape.block_size);
  const auto operations = random_operations(shape.block_size == 256 ? 40 : 75, seed);
  std::uint64_t cut = 0;
  while (run_with_cut(shape, operations, cut)) {
    ++cut;
  }
  ShapedFlash undisturbed(shape, 1);
  RingUnderTest test(undisturbed);
  for (const RingOperation& operation : operations) {
    test.step(operation);
  }
  CHECK(cut == undisturbed.bytes_written());
  CHECK(undisturbed.erases()[1] >= 2);  // several revolutions
}

TEST_CASE("PowerCutAtEveryByteWhileAMasterCollectsLosesNothingUnseen") {
  std::uint64_t cut = 0;
  bool done = false;
  while (!done) {
    const CollectedRun run(cut);
    run.require_nothing_lost_unseen();
    REQUIRE(run.lost() > 0);
    done = run.outlived_by_cut();
    ++cut;
  }
  CHECK(cut > 4000);
}
