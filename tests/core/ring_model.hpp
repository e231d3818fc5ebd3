// A reference for the record ring: everything stored, released and lost, as plain lists, and the
// random operations that the tests run against ring and reference side by side.
#pragma once

#include <catch2/catch.hpp>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <random>
#include <utility>
#include <vector>

#include "firmware-sim/core/record_ring.hpp"
#include "tests/core/fake_flash.hpp"

namespace firmware::core {

struct RingModel {
  std::vector<RecordKey> keys;  // by ordinal, all ever stored
  std::uint32_t first_held = 0;
  std::uint32_t boot = 0;
  std::vector<RecordKey> lost;  // all ever lost
  std::size_t forgotten = 0;    // of `lost`, from the front

  [[nodiscard]] std::uint32_t next_ordinal() const {
    return static_cast<std::uint32_t>(keys.size());
  }
  [[nodiscard]] RecordKey next_key() const {
    const bool same_boot = !keys.empty() && keys.back().boot == boot;
    return {boot, same_boot ? keys.back().sequence + 1 : 1};
  }
  // The ring may give up its oldest records where it opens a block: they are lost, all counted.
  void lose_up_to(std::uint32_t new_first_held) {
    for (; first_held < new_first_held; ++first_held) {
      lost.push_back(keys.at(first_held));
    }
  }
};

inline BoxRecord record_for(RecordKey key, std::uint32_t ordinal) {
  BoxRecord record{.boot = key.boot, .sequence = key.sequence, .ticks_ms = 0, .sample = {}};
  std::minstd_rand mix(ordinal + 1);
  record.ticks_ms = (std::uint64_t{mix()} << 20U) + key.sequence;
  record.sample.flags = static_cast<std::uint16_t>(mix());
  for (std::size_t channel = 0; channel < kChannels; ++channel) {
    record.sample.raw_counts[channel] = static_cast<std::int16_t>(mix());
    record.sample.statuses[channel] = static_cast<std::uint8_t>(mix() % 16);
  }
  return record;
}

inline std::vector<RecordKey> listed_keys(const LostBlock& lost) {
  std::vector<RecordKey> keys;
  for (std::size_t i = 0; i < lost.count; ++i) {
    for (std::uint32_t s = lost.ranges[i].first; s <= lost.ranges[i].last; ++s) {
      keys.push_back({lost.ranges[i].boot, s});
    }
  }
  return keys;
}

inline std::vector<BoxRecord> read_all(RecordRing& ring, std::size_t at_once) {
  std::vector<BoxRecord> all;
  std::vector<BoxRecord> part(at_once);
  for (std::uint32_t from = ring.first_held(); from < ring.next_ordinal();
       from += static_cast<std::uint32_t>(at_once)) {
    std::size_t count = 0;
    REQUIRE(ring.read(from, part, count) == Status::ok);
    all.insert(all.end(), part.begin(), part.begin() + static_cast<std::ptrdiff_t>(count));
  }
  return all;
}

// Everything the ring says against the model, every record's content included.
inline void require_same(RecordRing& ring, const RingModel& model) {
  REQUIRE(ring.boot() == model.boot);
  REQUIRE(ring.next_ordinal() == model.next_ordinal());
  REQUIRE(ring.first_held() == model.first_held);
  REQUIRE(ring.held() <= ring.capacity());
  const std::vector<BoxRecord> all = read_all(ring, 5);
  std::vector<BoxRecord> held;
  for (std::uint32_t ordinal = model.first_held; ordinal < model.next_ordinal(); ++ordinal) {
    held.push_back(record_for(model.keys[ordinal], ordinal));
  }
  REQUIRE((all == held));  // in brackets: the expansion would be long
  REQUIRE(ring.oldest() == (all.empty() ? RecordKey{} : all.front().key()));
  REQUIRE(ring.newest() == (model.keys.empty() ? RecordKey{} : model.keys.back()));
  REQUIRE(ring.lost().total == model.lost.size());
  const std::vector<RecordKey> listed = listed_keys(ring.lost());
  const std::vector<RecordKey> expected(
      model.lost.begin() + static_cast<std::ptrdiff_t>(model.forgotten), model.lost.end());
  if (ring.lost().count < kLostRanges) {
    REQUIRE(listed == expected);
  } else {  // the oldest ranges may have left the full list
    REQUIRE(listed.size() <= expected.size());
    REQUIRE(listed ==
            std::vector<RecordKey>(expected.end() - static_cast<std::ptrdiff_t>(listed.size()),
                                   expected.end()));
  }
}

struct RingOperation {
  enum class Kind : std::uint8_t { append, release, forget, restart, set } kind = Kind::append;
  std::uint32_t amount = 0;  // release: share of what is held, per mille; set: the setting
};

inline std::vector<RingOperation> random_operations(std::size_t count, std::uint32_t seed) {
  using Kind = RingOperation::Kind;
  std::minstd_rand random(seed);
  std::vector<RingOperation> operations{{Kind::restart, 0}};
  while (operations.size() < count) {
    const auto dice = static_cast<std::uint32_t>(random() % 100);
    const auto amount = static_cast<std::uint32_t>(random() % 1000);
    operations.push_back({dice < 76   ? Kind::append
                          : dice < 86 ? Kind::release
                          : dice < 90 ? Kind::forget
                          : dice < 97 ? Kind::restart
                                      : Kind::set,
                          amount});
  }
  return operations;
}

// One ring over one flash, driven together with its model.
class RingUnderTest {
 public:
  explicit RingUnderTest(FakeFlash& flash) : flash_(flash), ring_(std::in_place, flash) {}

  RecordRing& ring() { return *ring_; }
  RingModel& model() { return model_; }

  // Runs one operation on the ring alone.
  Status run(const RingOperation& operation) {
    switch (operation.kind) {
      case RingOperation::Kind::append:
        return ring_->append(record_for(model_.next_key(), model_.next_ordinal()));
      case RingOperation::Kind::release:
        return ring_->held() == 0 ? Status::ok : ring_->release_through(release_target(operation));
      case RingOperation::Kind::forget:
        return ring_->forget_lost(ring_->lost().total);
      case RingOperation::Kind::set:
        ring_->set_setting(static_cast<std::uint16_t>(1 + operation.amount));
        return Status::ok;
      case RingOperation::Kind::restart:
        break;
    }
    ring_.emplace(flash_);
    return ring_->start();
  }

  // What the operation, once ok, does to the model. Call before run().
  [[nodiscard]] RingModel after(const RingOperation& operation) const {
    RingModel next = model_;
    switch (operation.kind) {
      case RingOperation::Kind::append:
        next.keys.push_back(model_.next_key());
        break;
      case RingOperation::Kind::release:
        next.first_held = ring_->held() == 0 ? next.first_held : release_target(operation) + 1;
        break;
      case RingOperation::Kind::forget:
        next.forgotten = next.lost.size();
        break;
      case RingOperation::Kind::set:
      case RingOperation::Kind::restart:
        break;
    }
    return next;
  }

  // Takes `next`, from after(), for the model once the operation was ok.
  void follow(const RingOperation& operation, RingModel next) {
    using Kind = RingOperation::Kind;
    if (operation.kind == Kind::restart) {
      REQUIRE(ring_->boot() > model_.boot);
      next.boot = ring_->boot();
    }
    if (operation.kind != Kind::release) {  // all others may open a block
      // One block for the new one, and one for each bad place passed over on the way.
      REQUIRE(ring_->first_held() - next.first_held <=
              ring_->slots_per_block() * (1 + ring_->bad_blocks()));
      next.lose_up_to(ring_->first_held());
    }
    model_ = std::move(next);
  }

  // Runs an operation that must succeed.
  void step(const RingOperation& operation) {
    RingModel next = after(operation);
    REQUIRE(run(operation) == Status::ok);
    follow(operation, std::move(next));
  }

 private:
  [[nodiscard]] std::uint32_t release_target(const RingOperation& operation) const {
    return ring_->first_held() + operation.amount * ring_->held() / 1000;
  }

  FakeFlash& flash_;
  std::optional<RecordRing> ring_;
  RingModel model_;
};

}  // namespace firmware::core
