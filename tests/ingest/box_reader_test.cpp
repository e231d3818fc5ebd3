// Collecting from a real box (firmware-sim/core) over a real pseudo-terminal, nothing misbehaving
// but the circumstances: overflow, reboot, lost release, slow answers.
#include <catch2/catch.hpp>

#include "tests/ingest/box_bench.hpp"

using analysis::base::ChannelStatus;
using ingest_test::BoxBench;
using ingest_test::Bytes;
using ingest_test::bytes_from_hex;
using ingest_test::count_from_to;
using ingest_test::Device;
using ingest_test::RecordId;
using ingest_test::sequences_of;
using logger::ingest::Micros;
using logger::store::ErrorCode;
using logger::store::GapReason;

TEST_CASE("an empty box gives its identity and nothing else") {
  BoxBench bench;
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest.has_value());
  CHECK(bench.reader.identity().serial == ingest_test::kSerial);
  CHECK(bench.reader.identity().boot == 1);
  CHECK(bench.reader.identity().fitted_channels == 6);
  CHECK(bench.reader.identity().sample_interval_s == 60);
  CHECK(harvest.value().records.empty());
  CHECK(harvest.value().gaps.empty());
  CHECK_FALSE(harvest.value().more);
  CHECK_FALSE(harvest.value().rebooted);
  CHECK_FALSE(harvest.value().release_through.has_value());
  // Identity block by function 03, unit 1; the register map, and a CRC-16 computed apart in Python.
  CHECK(bench.device.requests[0] == bytes_from_hex("01 03 00 00 00 1C 44 03"));
}

TEST_CASE("all records come in order with what the box measured") {
  BoxBench bench;
  firmware::core::Sample sample;
  sample.flags = analysis::base::kFlagLidOpen | analysis::base::kFlagSupplyLow;
  sample.raw_counts = {-4000, 0, 8500, 10000, -32768, 32767, 1, -1};
  sample.statuses = {0, 1, 2, 3, 4, 5, 6, 7};
  bench.clock.advance(std::chrono::seconds(90));
  bench.box.set_ticks(bench.ticks_now());
  REQUIRE(bench.box.store_sample(sample) == firmware::core::Status::ok);
  sample.statuses = {15, 8, 0, 0, 0, 0, 0, 0};  // numbers this version does not know
  REQUIRE(bench.box.store_sample(sample) == firmware::core::Status::ok);
  bench.take_samples(205);

  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest.has_value());
  const auto& records = harvest.value().records;
  CHECK(sequences_of(records) == count_from_to(1, 207));
  CHECK(records[0].ticks_ms == 90'000);
  CHECK(records[0].flags == (analysis::base::kFlagLidOpen | analysis::base::kFlagSupplyLow));
  CHECK(records[0].raw_counts ==
        std::array<std::int32_t, 8>{-4000, 0, 8500, 10000, -32768, 32767, 1, -1});
  for (std::size_t i = 0; i < 8; ++i) {
    CHECK(records[0].statuses[i] == static_cast<ChannelStatus>(i));
  }
  CHECK(records[1].statuses[0] == ChannelStatus::fault);
  CHECK(records[1].statuses[1] == ChannelStatus::fault);
  CHECK(records[206].ticks_ms == 90'000 + 205 * 60'000);
  CHECK(harvest.value().release_through == RecordId{1, 207});
  CHECK(harvest.value().gaps.empty());
  CHECK(harvest.value().warnings.empty());
}

TEST_CASE("at most as many records as asked for come, then the rest") {
  BoxBench bench;
  bench.take_samples(103);
  for (const std::size_t most : {1U, 5U, 7U, 80U, 102U}) {
    const auto harvest = bench.collect(std::nullopt, most);
    CAPTURE(most);
    REQUIRE(harvest.has_value());
    CHECK(sequences_of(harvest.value().records) ==
          count_from_to(1, static_cast<std::int64_t>(most)));
    CHECK(harvest.value().more);
  }
  const auto all = bench.collect(std::nullopt, 103);
  REQUIRE(all.has_value());
  CHECK(all.value().records.size() == 103);
  CHECK_FALSE(all.value().more);
  const auto rest = bench.collect(RecordId{1, 98}, 103);
  REQUIRE(rest.has_value());
  CHECK(sequences_of(rest.value().records) == count_from_to(99, 103));
}

TEST_CASE("committed records are released, and releasing again does no harm") {
  BoxBench bench;
  bench.take_samples(12);
  REQUIRE(bench.cycle(7).has_value());
  CHECK(bench.box.held() == 5);
  REQUIRE(bench.run(bench.reader.release({1, 7})).has_value());
  CHECK(bench.box.held() == 5);
  REQUIRE(bench.cycle().has_value());
  CHECK(bench.box.held() == 0);
  CHECK(bench.stored.size() == 12);
  REQUIRE(bench.cycle().has_value());
  CHECK(bench.stored.size() == 12);
}

TEST_CASE("a record that was not read is not released") {
  BoxBench bench;
  bench.take_samples(20);
  REQUIRE(bench.collect(std::nullopt, 5).has_value());
  const auto released = bench.run(bench.reader.release({1, 12}));
  REQUIRE_FALSE(released.has_value());
  CHECK(released.error().code == ErrorCode::invalid_input);
  CHECK_THAT(
      released.error().context,
      Catch::StartsWith("box A (unit 1 on ") &&
          Catch::Contains("exception 03 (illegal data value) to function 16 at register 0x0a10"));
  CHECK(bench.box.held() == 20);
}

TEST_CASE("records a full ring has overwritten are reported as one range, once") {
  BoxBench bench(4);
  bench.take_samples(30);
  REQUIRE(bench.cycle(10).has_value());
  bench.take_samples(200);
  const std::size_t lost = bench.box.lost().total;
  REQUIRE(lost > 0);
  while (bench.box.held() > 0) {
    REQUIRE(bench.cycle(50).has_value());
  }
  CHECK(bench.stored.size() + lost == 230);
  REQUIRE(bench.gaps.size() == 1);
  CHECK(bench.gaps[0].box_id == "A");
  CHECK(bench.gaps[0].boot == 1);
  CHECK(bench.gaps[0].first_sequence == 11);
  CHECK(bench.gaps[0].last_sequence == static_cast<std::int64_t>(10 + lost));
  CHECK(bench.gaps[0].reason == GapReason::overflow);
  CHECK(bench.box.lost().count == 0);
}

TEST_CASE("a loss of records that are committed already is no gap") {
  BoxBench bench(4);
  bench.take_samples(30);
  const auto first = bench.collect(std::nullopt);
  REQUIRE(first.has_value());
  while (bench.box.lost().total == 0) {
    bench.take_samples(1);  // until some of them are overwritten, as they were never released
  }
  REQUIRE(bench.box.lost().ranges[0].last <= 30);
  const auto second = bench.collect(RecordId{1, 30});
  REQUIRE(second.has_value());
  CHECK(second.value().gaps.empty());
  CHECK(sequences_of(second.value().records) == count_from_to(31, bench.box.sequence()));
}

TEST_CASE("a reboot is told, and its records follow those of the boot before") {
  BoxBench bench;
  bench.take_samples(7);
  REQUIRE(bench.cycle(4).has_value());
  bench.boot();
  bench.take_samples(3);
  const auto harvest = bench.collect(RecordId{1, 4});
  REQUIRE(harvest.has_value());
  CHECK(harvest.value().rebooted);
  CHECK(harvest.value().exchange.first == 2);
  CHECK(sequences_of(harvest.value().records) == std::vector<std::int64_t>{5, 6, 7, 1, 2, 3});
  CHECK(harvest.value().records.back().id == RecordId{2, 3});
  CHECK(harvest.value().gaps.empty());
  CHECK(harvest.value().warnings.empty());
  CHECK_FALSE(bench.collect(RecordId{1, 4}).value().rebooted);
}

TEST_CASE("after a lost release and a reboot the old records are released all the same") {
  BoxBench bench;
  bench.take_samples(90);
  REQUIRE(bench.collect(std::nullopt).has_value());  // committed, but the release never came
  bench.boot();
  const auto nothing_new = bench.collect(RecordId{1, 90});
  REQUIRE(nothing_new.has_value());
  CHECK(nothing_new.value().records.empty());
  REQUIRE(nothing_new.value().release_through == RecordId{1, 90});
  REQUIRE(bench.run(bench.reader.release({1, 90})).has_value());
  CHECK(bench.box.held() == 0);
}

TEST_CASE("a lost acknowledgement of a release, a hundred times, stores nothing twice") {
  BoxBench bench;
  for (int i = 0; i < 100; ++i) {
    bench.take_samples(3);
    // Identity, lost block, select and one window go through; then three times no acknowledgement.
    for (int step = 0; step < 4; ++step) {
      bench.device.script.push_back(
          [](Device& device, const Bytes&, const Bytes& honest) { device.send(honest); });
    }
    for (int step = 0; step < 3; ++step) {
      bench.device.script.push_back([](Device&, const Bytes&, const Bytes&) {});
    }
    const auto cycle = bench.cycle();
    REQUIRE_FALSE(cycle.has_value());
    CHECK(cycle.error().code == ErrorCode::timeout);
    CHECK(bench.device.script.empty());
  }
  CHECK(bench.stored.size() == 300);
  CHECK(bench.twice == 0);
  CHECK(bench.gaps.empty());
  CHECK(bench.box.held() == 0);  // the box heard them all
}

TEST_CASE("the clock exchange is the middle of the round trip, right within its error") {
  for (const Micros delay : {Micros{0}, Micros{40'000}, Micros{250'000}}) {
    BoxBench bench;
    bench.clock.advance(std::chrono::hours(5));
    REQUIRE(bench.collect(std::nullopt).has_value());
    bench.clock.advance(std::chrono::seconds(10));
    bench.device.script.push_back([&](Device& device, const Bytes&, const Bytes& honest) {
      device.send_after(delay, honest);
    });
    const auto asked_at = bench.clock.utc_now();
    const auto true_ticks_at = static_cast<std::int64_t>(bench.ticks_now());
    const auto harvest = bench.collect(std::nullopt);
    REQUIRE(harvest.has_value());
    const auto& exchange = harvest.value().exchange.second;
    CHECK(harvest.value().exchange.first == 1);
    CHECK(exchange.ticks_ms == true_ticks_at);
    CHECK(exchange.utc == asked_at + delay / 2);
    CHECK(exchange.error == delay / 2 + Micros{1000});
  }
}

TEST_CASE("an identity that came on the second try is dated over both tries") {
  BoxBench bench;
  REQUIRE(bench.collect(std::nullopt).has_value());
  bench.device.script.push_back([](Device&, const Bytes&, const Bytes&) {});
  const auto asked_at = bench.clock.utc_now();
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest.has_value());
  const auto& exchange = harvest.value().exchange.second;
  CHECK(exchange.error > std::chrono::milliseconds(250));
  const auto true_utc = ingest_test::kStart + Micros{exchange.ticks_ms * 1000};
  CHECK(std::chrono::abs(true_utc - exchange.utc) <= exchange.error);
  CHECK(asked_at <= exchange.utc);
}

TEST_CASE("a step of the host clock during the exchange widens its error") {
  BoxBench bench;
  REQUIRE(bench.collect(std::nullopt).has_value());
  bench.device.script.push_back([&](Device& device, const Bytes&, const Bytes& honest) {
    bench.clock.utc_step = -std::chrono::hours(1);
    device.send(honest);
  });
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest.has_value());
  CHECK(harvest.value().exchange.second.error >= std::chrono::minutes(30));
}

TEST_CASE("a store that knows more than the box has ever taken is refused") {
  BoxBench bench;
  bench.take_samples(3);
  for (const RecordId after : {RecordId{1, 4}, RecordId{2, 1}}) {
    const auto harvest = bench.collect(after);
    REQUIRE_FALSE(harvest.has_value());
    CHECK(harvest.error().code == ErrorCode::corrupt);
    CHECK_THAT(harvest.error().context, Catch::Contains("erased or exchanged"));
  }
  for (const RecordId after : {RecordId{0, 1'700'000'000'000}, RecordId{1, -5}}) {
    const auto harvest = bench.collect(after);
    REQUIRE_FALSE(harvest.has_value());
    CHECK(harvest.error().code == ErrorCode::invalid_input);
  }
}
