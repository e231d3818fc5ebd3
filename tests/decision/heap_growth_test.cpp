// The incremental parts hold no more heap memory after a long log than after a short one.
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <new>

#include "analysis/readiness/excursion_log.hpp"
#include "analysis/readiness/room_replay.hpp"

namespace {

// Bytes that were taken with new and not given back yet.
std::size_t live_bytes = 0;

constexpr std::size_t kHead = alignof(std::max_align_t);

}  // namespace

void* operator new(std::size_t size) {
  auto* block = static_cast<std::size_t*>(std::malloc(size + kHead));
  if (block == nullptr) {
    throw std::bad_alloc();
  }
  *block = size;
  live_bytes += size;
  return reinterpret_cast<char*>(block) + kHead;
}
void operator delete(void* pointer) noexcept {
  if (pointer != nullptr) {
    auto* block = reinterpret_cast<std::size_t*>(static_cast<char*>(pointer) - kHead);
    live_bytes -= *block;
    std::free(block);
  }
}
void operator delete(void* pointer, std::size_t) noexcept { operator delete(pointer); }

using namespace analysis::readiness;
using analysis::base::ChannelRole;
using analysis::base::ChannelStatus;
using analysis::base::Metres;
using analysis::base::micros_from_hours;

namespace {

RoomSetup setup() {
  RoomSetup room;
  room.requirements.slab = SlabRequirements{};
  room.delivered_at = UtcMicros{0};
  const ChannelRole roles[] = {ChannelRole::room_air_temperature, ChannelRole::room_air_rh,
                               ChannelRole::stack_core_temperature, ChannelRole::slab_rh};
  for (int i = 0; i < 4; ++i) {
    ChannelSetup channel;
    channel.box_id = "box";
    channel.channel_index = i;
    channel.channel_id = "channel-with-a-name-" + std::to_string(i);
    channel.scale.role = roles[i];
    room.channels.push_back(channel);
  }
  room.stack = StackSetup{
      {Metres{1.29}, Metres{0.39}, Metres{0.54}, analysis::physics::StackBottom::on_floor},
      Celsius{2.0}};
  return room;
}

// A heated room with a cold week every month and a gap every fifth day.
void feed(RoomReplay& replay, ExcursionLog& log, int from, int to) {
  for (int i = from; i < to; ++i) {
    const double hours = i / 12.0;
    if (std::fmod(hours, 120.0) > 118.0) {
      continue;
    }
    const bool cold = std::fmod(hours, 720.0) > 552.0;
    analysis::base::Record record;
    record.id = {1, i + 1};
    record.statuses.fill(ChannelStatus::ok);
    record.raw_counts = {cold ? 900 : 2000 + static_cast<int>(200 * std::sin(hours)), 5200, 1900,
                         8000};
    const auto step = replay.add("box", record, UtcMicros{0} + micros_from_hours(hours));
    if (step.counted) {
      log.add(*step.counted);
    }
  }
}

}  // namespace

TEST_CASE("A year of readings holds no more memory than three months of them") {
  constexpr int kDay = 288;
  RoomReplay replay(setup());
  ExcursionLog log({}, micros_from_hours(0.75));
  feed(replay, log, 0, 90 * kDay);
  const std::size_t after_a_quarter = live_bytes;
  REQUIRE(after_a_quarter > 0);
  std::size_t most = 0;
  for (int month = 3; month < 12; ++month) {
    feed(replay, log, 30 * month * kDay, 30 * (month + 1) * kDay);
    most = std::max(most, live_bytes);
  }
  CAPTURE(after_a_quarter, most);
  CHECK(replay.dwell().resets > 10);
  CHECK(replay.stack()->result().arming_number > 5);
  // A deque may hold a block or two more or less, by where its ends lie.
  constexpr std::size_t kBlocks = 4 * 512;
  CHECK(most <= after_a_quarter + kBlocks);
}
