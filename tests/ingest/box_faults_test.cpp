// Collecting from a box that misbehaves, or over a line that is cut: nothing false is believed and
// nothing is missing afterwards.
#include <catch2/catch.hpp>

#include "firmware-sim/core/wire_format.hpp"
#include "tests/ingest/box_bench.hpp"

namespace core = firmware::core;
using ingest_test::BoxBench;
using ingest_test::Bytes;
using ingest_test::count_from_to;
using ingest_test::Device;
using ingest_test::RecordId;
using ingest_test::sealed;
using ingest_test::sequences_of;
using logger::ingest::Micros;
using logger::store::ErrorCode;
using logger::store::GapReason;

namespace {

const Device::Step kHonest = [](Device& device, const Bytes&, const Bytes& honest) {
  device.send(honest);
};
const Device::Step kSilent = [](Device&, const Bytes&, const Bytes&) {};

std::uint16_t address_of(const Bytes& request) {
  return static_cast<std::uint16_t>(request[2] * 256 + request[3]);
}

// Changes every reply to a read of `address`.
void change_replies(BoxBench& bench, std::uint16_t address,
                    std::function<void(Bytes& reply)> change) {
  bench.device.honest = [&bench, address, change = std::move(change),
                         honest = bench.device.honest](const Bytes& request) {
    Bytes reply = honest(request);
    if (request[1] == core::kReadHoldingRegisters && address_of(request) == address) {
      change(reply);
      reply = sealed(reply);
    }
    return reply;
  };
}

// First byte of a register in a reply to a read that began at register 0 of its block.
constexpr std::size_t byte_of(std::size_t register_index) { return 3 + 2 * register_index; }

// Position of record `index` in a window's reply.
constexpr std::size_t record_at(std::size_t index) {
  return byte_of(core::kWindowFirst + index * core::kRecordSize);
}

// The reply without record `index`, as of a box that does not hold it.
void take_record_out(Bytes& reply, std::size_t index) {
  const auto begin = reply.begin() + static_cast<std::ptrdiff_t>(record_at(index));
  reply.erase(begin, begin + 2 * core::kRecordSize);
  reply.insert(reply.end() - 2, 2 * core::kRecordSize, 0);
  --reply[byte_of(core::kWindowCount) + 1];
}

}  // namespace

TEST_CASE("an adapter pulled after any byte leaves no record missing and none twice") {
  // Counts the bytes of one undisturbed cycle, then cuts after each of them.
  const auto make_records = [](BoxBench& bench) {
    bench.take_samples(12);
    bench.boot();
    bench.take_samples(2);
  };
  std::size_t whole = 0;
  std::map<RecordId, analysis::base::Record> undisturbed;
  {
    BoxBench bench;
    make_records(bench);
    REQUIRE(bench.cycle().has_value());
    whole = bench.device.bytes_written;
    undisturbed = bench.stored;
  }
  REQUIRE(undisturbed.size() == 14);
  REQUIRE(whole > 500);
  for (std::size_t cut = 0; cut < whole; ++cut) {
    BoxBench bench;
    make_records(bench);
    bench.device.unplug_after_bytes = cut;
    const auto first = bench.cycle();
    CAPTURE(cut);
    REQUIRE_FALSE(first.has_value());
    CHECK(first.error().code == ErrorCode::unavailable);
    bench.device.plug();
    bench.clock.advance(std::chrono::seconds(1));
    REQUIRE(bench.cycle().has_value());
    CHECK(bench.stored == undisturbed);
    CHECK(bench.twice == 0);
    CHECK(bench.gaps.empty());
    CHECK(bench.box.held() == 0);
  }
}

TEST_CASE("one corrupted byte anywhere is repaired by asking again") {
  BoxBench undisturbed;
  undisturbed.take_samples(7);
  REQUIRE(undisturbed.cycle().has_value());
  const std::size_t whole = undisturbed.device.bytes_written;
  for (std::size_t wrong = 0; wrong < whole; ++wrong) {
    BoxBench bench;
    bench.take_samples(7);
    std::size_t sent = 0;
    bool done = false;
    bench.device.honest = [&, honest = bench.device.honest](const Bytes& request) {
      Bytes reply = honest(request);
      if (!done && wrong < sent + reply.size()) {
        reply[wrong - sent] ^= 0x10;
        done = true;
      }
      sent += reply.size();
      return reply;
    };
    CAPTURE(wrong);
    REQUIRE(bench.cycle().has_value());
    CHECK(bench.stored == undisturbed.stored);
    CHECK(bench.box.held() == 0);
  }
}

TEST_CASE("each exchange is tried three times, then it is a time-out that names the box") {
  BoxBench bench;
  bench.device.script = {kSilent, kSilent};
  REQUIRE(bench.collect(std::nullopt).has_value());
  bench.device.script = {kSilent, kSilent, kSilent};
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE_FALSE(harvest.has_value());
  CHECK(harvest.error().code == ErrorCode::timeout);
  // 8 + 61 bytes of 11 bits at 19,200 baud are 39.5 ms; the margin is 500 ms.
  CHECK(harvest.error().context ==
        "box A (unit 1 on " + bench.link + "): no answer within 539 ms, 3 tries");
}

TEST_CASE("another box on that address is not believed") {
  BoxBench bench;
  bench.take_samples(3);
  logger::ingest::BoxReader reader(bench.line, bench.clock, {"B", 1, 4711});
  const auto harvest = bench.run(reader.collect(std::nullopt, 100));
  REQUIRE_FALSE(harvest.has_value());
  CHECK(harvest.error().code == ErrorCode::not_found);
  CHECK_THAT(harvest.error().context,
             Catch::EndsWith("another box answers: serial 1234605616436508552, expected 4711"));
  CHECK(bench.device.requests.size() == 1);
}

TEST_CASE("a device that is no probe box, or speaks another map, is refused") {
  BoxBench stranger;
  change_replies(stranger, core::kRegIdentity, [](Bytes& reply) { reply[byte_of(0)] ^= 1; });
  const auto no_box = stranger.collect(std::nullopt);
  REQUIRE_FALSE(no_box.has_value());
  CHECK(no_box.error().code == ErrorCode::unsupported);

  BoxBench newer;
  change_replies(newer, core::kRegIdentity,
                 [](Bytes& reply) { reply[byte_of(core::kIdentityMapVersion) + 1] = 2; });
  const auto other_map = newer.collect(std::nullopt);
  REQUIRE_FALSE(other_map.has_value());
  CHECK(other_map.error().code == ErrorCode::unsupported);
  CHECK_THAT(other_map.error().context,
             Catch::Contains("register map version 2 is not known, expected 1"));
}

TEST_CASE("an exception is told with its number and meaning, and is not asked again") {
  BoxBench bench;
  bench.device.script.push_back([](Device& device, const Bytes& request, const Bytes&) {
    device.send(sealed({request[0], static_cast<std::uint8_t>(request[1] | 0x80), 0x04, 0, 0}));
  });
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE_FALSE(harvest.has_value());
  CHECK(harvest.error().code == ErrorCode::io);
  CHECK_THAT(harvest.error().context,
             Catch::EndsWith("exception 04 (device failure) to function 03 at register 0x0000"));
  CHECK(bench.device.requests.size() == 1);
}

TEST_CASE("a record with a wrong CRC-32 is read again") {
  BoxBench bench;
  bench.take_samples(9);
  int reads = 0;
  change_replies(bench, core::kRegWindow, [&](Bytes& reply) {
    if (++reads < 3) {
      reply[record_at(2) + 2 * core::kRecordRaw] ^= 0x40;
    }
  });
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest.has_value());
  CHECK(reads == 3);
  CHECK(sequences_of(harvest.value().records) == count_from_to(1, 9));
  CHECK(harvest.value().gaps.empty());
}

TEST_CASE("a record whose CRC-32 stays wrong is a corrupt gap, and what follows it comes") {
  BoxBench bench;
  bench.take_samples(9);
  change_replies(bench, core::kRegWindow, [&](Bytes& reply) {
    reply[record_at(2) + 2 * core::kRecordRaw] ^= 0x40;
    reply[record_at(3) + 2 * core::kRecordSequence + 1] ^= 0x01;
  });
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest.has_value());
  CHECK(sequences_of(harvest.value().records) == std::vector<std::int64_t>{1, 2, 5, 6, 7, 8, 9});
  REQUIRE(harvest.value().gaps.size() == 1);
  CHECK(harvest.value().gaps[0].first_sequence == 3);
  CHECK(harvest.value().gaps[0].last_sequence == 4);
  CHECK(harvest.value().gaps[0].reason == GapReason::corrupt);
  CHECK(harvest.value().gaps[0].noted_at == bench.clock.utc_now());
}

TEST_CASE("records the box does not hold are missing, after a second look") {
  BoxBench bench;
  bench.take_samples(20);
  // Record 8 is in window 1 after a select of 1, and first in window 0 after a select of 8.
  bench.device.honest = [&, honest = bench.device.honest](const Bytes& request) {
    Bytes reply = honest(request);
    for (std::size_t i = 0; reply.size() > 200 && i < core::kWindowRecords; ++i) {
      if (reply[record_at(i) + 2 * core::kRecordSequence + 3] == 8) {
        take_record_out(reply, i);
        reply = sealed(reply);
      }
    }
    return reply;
  };
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest.has_value());
  CHECK(harvest.value().records.size() == 19);
  REQUIRE(harvest.value().gaps.size() == 1);
  CHECK(harvest.value().gaps[0].first_sequence == 8);
  CHECK(harvest.value().gaps[0].last_sequence == 8);
  CHECK(harvest.value().gaps[0].reason == GapReason::missing);
}

TEST_CASE("a window taken for another one is no loss: what was read is dropped and read anew") {
  BoxBench bench;
  bench.take_samples(40);
  // Window 2 answers where window 1 was asked, as a late reply would.
  int asked = 0;
  bench.device.honest = [&, honest = bench.device.honest](const Bytes& request) {
    Bytes changed = request;
    if (address_of(request) == core::kRegWindow + core::kWindowStride && ++asked == 1) {
      changed[3] = static_cast<std::uint8_t>(changed[3] + core::kWindowStride);
      changed[2] = static_cast<std::uint8_t>(changed[2] + (changed[3] < core::kWindowStride));
      changed = sealed(changed);
    }
    return honest(changed);
  };
  const auto mixed_up = bench.cycle();
  REQUIRE_FALSE(mixed_up.has_value());
  CHECK(mixed_up.error().code == ErrorCode::corrupt);
  CHECK_THAT(mixed_up.error().context, Catch::Contains("out of step"));
  REQUIRE(bench.cycle().has_value());
  CHECK(bench.stored.size() == 40);
  CHECK(bench.gaps.empty());
}

TEST_CASE("windows of an older selection are refused") {
  BoxBench bench;
  bench.take_samples(20);
  REQUIRE(bench.cycle(10).has_value());
  // The select is acknowledged, but the windows go on where an earlier one began.
  BoxBench other;
  other.take_samples(20);
  REQUIRE(other.collect(std::nullopt).has_value());
  bench.device.honest = [&, honest = bench.device.honest](const Bytes& request) {
    return address_of(request) >= core::kRegWindow && address_of(request) < core::kRegSelect
               ? other.device.honest(request)
               : honest(request);
  };
  const auto harvest = bench.collect(RecordId{1, 10});
  REQUIRE_FALSE(harvest.has_value());
  CHECK_THAT(harvest.error().context,
             Catch::Contains("record 1/1 came where 1/11 or a later one was asked for"));
}

TEST_CASE("a box clock that runs backwards is told, its records are kept") {
  BoxBench bench;
  bench.take_samples(3);
  bench.booted_at += std::chrono::minutes(2);
  bench.take_samples(2);
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest.has_value());
  CHECK(harvest.value().records.size() == 5);
  CHECK(harvest.value().records[2].ticks_ms == 180'000);
  CHECK(harvest.value().records[3].ticks_ms == 120'000);
  REQUIRE(harvest.value().warnings.size() == 1);
  CHECK_THAT(harvest.value().warnings[0].context,
             Catch::Contains("runs backwards at 1 records, first from 180000 ms at record 1/3 to "
                             "120000 ms at record 1/4"));
}

TEST_CASE("a reboot in the middle of a collection loses and repeats nothing") {
  for (int when = 1; when <= 12; ++when) {
    BoxBench bench;
    bench.take_samples(30);
    int requests = 0;
    bench.device.honest = [&, honest = bench.device.honest](const Bytes& request) {
      if (++requests == when) {
        bench.boot();
      }
      return honest(request);
    };
    CAPTURE(when);
    for (int i = 0; i < 5 && bench.stored.size() < 30; ++i) {
      static_cast<void>(bench.cycle());
    }
    static_cast<void>(bench.cycle());
    CHECK(bench.stored.size() == 30);
    CHECK(bench.twice == 0);
    CHECK(bench.gaps.empty());
    CHECK(bench.box.held() == 0);
  }
}

TEST_CASE("a box that never comes to an end is given up") {
  BoxBench bench(3);
  bench.take_samples(5);
  // Its identity names a newest record that never comes.
  bench.device.honest = [&, honest = bench.device.honest](const Bytes& request) {
    Bytes reply = honest(request);
    if (address_of(request) == core::kRegIdentity && request[1] == core::kReadHoldingRegisters) {
      reply[byte_of(core::kIdentityNewestSequence)] = 0x7f;
      reply = sealed(reply);
    }
    return reply;
  };
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE_FALSE(harvest.has_value());
  CHECK(bench.device.requests.size() < 100);
}
