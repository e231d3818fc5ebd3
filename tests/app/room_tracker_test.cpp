// A room kept by the daemon over restarts says what one replay of all records says.
#include "logger/app/room/room_tracker.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>

#include "logger/store/sqlite_store.hpp"
#include "tests/store/store_folder.hpp"

using namespace logger::app;
using analysis::base::Celsius;
using analysis::base::ChannelRole;
using analysis::base::ChannelStatus;
using analysis::base::Metres;
using analysis::base::micros_from_hours;

namespace {

constexpr UtcMicros kStart{1'772'348'400'000'000};  // 2026-03-01T07:00:00Z
constexpr int kMinutes = 10;

Job cold_stack_job(bool with_probe) {
  Job job;
  JobRoom room;
  room.id = "room";
  room.floor_area_m2 = 20.0;
  room.requirements.core_probe_required = false;
  JobStack stack;
  stack.carton_length = Metres{1.29};
  stack.carton_width = Metres{0.195};
  stack.carton_height = Metres{0.09};
  stack.cartons_high = 4;
  room.stack = stack;
  job.rooms.push_back(room);
  JobBox box;
  box.id = "box";
  const ChannelRole roles[] = {ChannelRole::room_air_temperature, ChannelRole::room_air_rh,
                               ChannelRole::stack_core_temperature};
  for (int i = 0; i < (with_probe ? 3 : 2); ++i) {
    JobChannel channel;
    channel.index = i;
    channel.id = "c" + std::to_string(i);
    channel.room_id = "room";
    channel.scale = {roles[i], 0.01, i == 1 ? 0.0 : -40.0, i == 1 ? 100.0 : 80.0};
    box.channels.push_back(channel);
  }
  job.boxes.push_back(box);
  return job;
}

// A heated room, a cold night in the middle, and a probe that follows slowly.
Record record_at(int i) {
  const double hours = i * kMinutes / 60.0;
  const bool cold = hours > 150.0 && hours < 200.0;
  const double air = cold ? 8.0 : 20.0 + 0.3 * std::sin(hours / 3.0);
  Record record;
  record.id = {1, i + 1};
  record.ticks_ms = 60'000LL * kMinutes * i + 1000;
  record.statuses = {ChannelStatus::ok, ChannelStatus::ok, ChannelStatus::ok};
  record.raw_counts[0] = static_cast<std::int32_t>(std::lround(100.0 * air));
  record.raw_counts[1] = 5200;
  record.raw_counts[2] =
      static_cast<std::int32_t>(std::lround(100.0 * (20.0 - 18.0 * std::exp(-hours / 18.0))));
  return record;
}

// The store with its one box, filled step by step.
struct Site {
  store_tests::StoreFolder folder;
  Job job;
  std::unique_ptr<logger::store::ReadingStore> store;
  int filled = 0;

  explicit Site(bool with_probe) : job(cold_stack_job(with_probe)) {
    auto opened = logger::store::open_sqlite_store(folder.file("readings.db"), {.create = true});
    REQUIRE(opened);
    store = std::move(opened).value();
    REQUIRE(store->mark_simulated(true));
    logger::store::Note delivery;
    delivery.at = kStart;
    delivery.noted_at = kStart;
    delivery.kind = "delivery";
    delivery.room_id = "room";
    delivery.by = "A. Sample";
    delivery.content_json = R"({"carton_celsius":2.0,"remark":""})";
    REQUIRE(store->append_note(delivery));
  }

  [[nodiscard]] JobRecords records() const { return job_records_from(*store).value(); }

  // Like a round of the daemon: new records with the account they lead to.
  void advance(RoomTracker& tracker, int to) {
    logger::store::CommitBatch commit;
    logger::store::BoxBatch batch;
    batch.box_id = "box";
    for (; filled < to; ++filled) {
      const Record record = record_at(filled);
      batch.records.push_back(record);
      const UtcMicros at = kStart + Micros{record.ticks_ms * 1000};
      batch.exchanges.emplace_back(
          1U, analysis::base::ClockExchange{record.ticks_ms, at, Micros{1000}});
      tracker.feed("box", record, at);
    }
    commit.boxes.push_back(batch);
    commit.accounts.push_back(tracker.account());
    commit.seen_at = kStart + Micros{record_at(filled).ticks_ms * 1000};
    REQUIRE(store->commit(commit));
  }
  [[nodiscard]] RoomTracker reopened() const {
    auto tracker = RoomTracker::open(*store, job, job.rooms[0], records());
    REQUIRE(tracker);
    return std::move(tracker).value();
  }
  [[nodiscard]] RoomTracker rebuilt() const {
    auto tracker = RoomTracker::rebuild(*store, job, job.rooms[0], records(), std::nullopt);
    REQUIRE(tracker);
    return std::move(tracker).value();
  }
};

}  // namespace

TEST_CASE("A restart before each round changes nothing of hours and heat") {
  const bool with_probe = GENERATE(false, true);
  CAPTURE(with_probe);
  Site site(with_probe);
  for (const int to : {1, 7, 60, 61, 200, 400, 700, 880, 1000, 1150, 1300, 1800, 2600}) {
    RoomTracker tracker = site.reopened();
    site.advance(tracker, to);
    CAPTURE(to);
    const RoomTracker whole = site.rebuilt();
    CHECK(tracker.account().state_json == whole.account().state_json);
    REQUIRE(tracker.replay().stack());
    CHECK(tracker.replay().stack()->state() == whole.replay().stack()->state());
    CHECK(tracker.replay().stack()->result() == whole.replay().stack()->result());
  }
  // It warmed through, cooled with the room, and warmed through again.
  const auto result = site.reopened().replay().stack()->result();
  CHECK(result.arming_number >= 2);
  CHECK(result.slow.warm_at);
}

TEST_CASE("Without a probe the computed core decides: no, unsure, yes") {
  Site site(false);
  RoomTracker tracker = site.reopened();
  std::vector<analysis::readiness::GateState> seen;
  for (int to = 24; to <= 800; to += 8) {
    site.advance(tracker, to);
    const UtcMicros now = kStart + Micros{record_at(to - 1).ticks_ms * 1000};
    for (const auto& gate : tracker.assess(now).gates) {
      if (gate.id == "stack_core" && (seen.empty() || seen.back() != gate.state)) {
        seen.push_back(gate.state);
        CAPTURE(gate.reason);
        CHECK(gate.reason.find("computed from the room air") != std::string::npos);
        CHECK_FALSE(gate.wrong_probability);
      }
    }
  }
  using analysis::readiness::GateState;
  CHECK(seen == std::vector<GateState>{GateState::not_met, GateState::unknown, GateState::met});
}

TEST_CASE("An account made for another stacking is not believed") {
  Site site(false);
  {
    RoomTracker tracker = site.reopened();
    site.advance(tracker, 300);
  }
  site.job.rooms[0].stack->cartons_high = 10;
  CHECK(site.reopened().replay().stack()->state() == site.rebuilt().replay().stack()->state());
  CHECK(site.reopened().account().fingerprint != site.store->accounts().value()[0].fingerprint);
}
