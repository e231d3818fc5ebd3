// A transmitter on a real pseudo-terminal: what a poll becomes, and what happens when it does not
// answer, refuses, is another one, or nothing can be committed.
#include "logger/ingest/registers/register_reader.hpp"

#include <catch2/catch.hpp>

#include "tests/ingest/line_bench.hpp"

using analysis::base::ChannelStatus;
using analysis::base::RecordId;
using ingest_test::Bytes;
using ingest_test::bytes_from_hex;
using ingest_test::Device;
using ingest_test::LineBench;
using ingest_test::sealed;
using logger::ingest::ErrorCode;
using logger::ingest::Harvest;
using logger::ingest::Micros;
using logger::ingest::RegisterDevice;
using logger::ingest::RegisterReader;
using logger::ingest::RegisterType;

namespace {

// Registers 4x0 and 4x1, and its number 4711 in 3x100.
RegisterDevice device_with_identity() {
  RegisterDevice device;
  device.address = {"hall-air", 7, Micros{500'000}};
  device.channels = {{0, {4, 1, RegisterType::i16, {}, {}}},
                     {3, {4, 0, RegisterType::u16, {}, {}}}};
  device.identity = {{3, 100, RegisterType::u16, {}, {}}, 4711};
  return device;
}

struct ReaderBench : LineBench {
  explicit ReaderBench(const RegisterDevice& device_read = device_with_identity())
      : reader(line, clock, device_read) {
    device.honest = [this](const Bytes& request) {
      ++asked;
      if (request[1] == 3) {
        return sealed({7, 3, 2, number[0], number[1], 0, 0});
      }
      return sealed({7, 4, 4, 0x01, 0xE7, value[0], value[1], 0, 0});
    };
  }
  logger::store::Result<Harvest> collect(std::optional<RecordId> after, std::size_t most = 1000) {
    return run(reader.collect(after, most));
  }
  // Answers nothing to the next `count` requests.
  void keep_silent(int count) {
    for (int i = 0; i < count; ++i) {
      device.script.push_back([](Device&, const Bytes&, const Bytes&) {});
    }
  }

  Bytes number = {0x12, 0x67};  // 4711
  Bytes value = {0xFF, 0x38};   // -200
  int asked = 0;
  RegisterReader reader;
};

}  // namespace

TEST_CASE("APollBecomesARecordOfItsSession") {
  ReaderBench bench;
  bench.clock.advance(std::chrono::seconds(1000));
  const auto first = bench.collect(std::nullopt);
  REQUIRE(first);
  REQUIRE(first.value().records.size() == 1);
  const auto& record = first.value().records[0];
  CHECK(record.id == RecordId{1, 1});
  CHECK(record.ticks_ms < 1000);
  CHECK(record.statuses[0] == ChannelStatus::ok);
  CHECK(record.raw_counts[0] == -200);
  CHECK(record.raw_counts[3] == 0x01E7);
  CHECK(record.statuses[1] == ChannelStatus::not_fitted);
  CHECK(first.value().exchange.first == 1);
  CHECK(first.value().exchange.second.ticks_ms == record.ticks_ms);
  CHECK(first.value().release_through == record.id);
  CHECK_FALSE(first.value().rebooted);
  REQUIRE(bench.run(bench.reader.release(record.id)));

  bench.clock.advance(std::chrono::seconds(60));
  const auto second = bench.collect(record.id);
  REQUIRE(second);
  REQUIRE(second.value().records.size() == 1);
  CHECK(second.value().records[0].id == RecordId{1, 2});
  CHECK(second.value().records[0].ticks_ms >= 60'000);
  // Request for the two registers by function 04; its CRC-16 computed apart in Python.
  CHECK(bench.device.requests[1] == bytes_from_hex("07 04 00 00 00 02 71 AD"));
}

TEST_CASE("ANewSessionCountsItsBootOn") {
  ReaderBench bench;
  const auto harvest = bench.collect(RecordId{4, 900});
  REQUIRE(harvest);
  CHECK(harvest.value().records[0].id == RecordId{5, 1});
  CHECK(harvest.value().rebooted);
}

TEST_CASE("WhatIsNotReleasedComesAgainWithTheNextPoll") {
  ReaderBench bench;
  REQUIRE(bench.collect(std::nullopt));
  REQUIRE(bench.collect(std::nullopt));
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest);
  CHECK(harvest.value().records.size() == 3);
  const auto rest = bench.collect(RecordId{1, 2});
  REQUIRE(rest);
  CHECK(rest.value().records.front().id == RecordId{1, 3});
  // While more waits than one round takes, nothing is polled in between.
  const int asked = bench.asked;
  const auto part = bench.collect(std::nullopt, 2);
  REQUIRE(part);
  CHECK(part.value().more);
  CHECK(part.value().records.size() == 2);
  CHECK(bench.asked == asked);
}

TEST_CASE("ADeviceThatDoesNotAnswerIsAskedThreeTimesAndThenOnce") {
  ReaderBench bench;
  REQUIRE(bench.collect(std::nullopt));
  REQUIRE(bench.run(bench.reader.release({1, 1})));
  bench.keep_silent(4);
  const std::size_t before = bench.device.requests.size();
  const auto dead = bench.collect(RecordId{1, 1});
  REQUIRE_FALSE(dead);
  CHECK(dead.error().code == ErrorCode::timeout);
  INFO(dead.error().context);
  CHECK(dead.error().context.find("box hall-air (unit 7 on ") == 0);
  CHECK(bench.device.requests.size() == before + 3);
  REQUIRE_FALSE(bench.collect(RecordId{1, 1}));
  CHECK(bench.device.requests.size() == before + 4);
  const auto back = bench.collect(RecordId{1, 1});
  REQUIRE(back);
  CHECK(back.value().records[0].id == RecordId{1, 2});  // silence took no number
}

TEST_CASE("WhileRecordsWaitAPollThatFailsIsAWarning") {
  ReaderBench bench;
  REQUIRE(bench.collect(std::nullopt));
  bench.keep_silent(3);
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest);
  CHECK(harvest.value().records.size() == 1);
  CHECK(harvest.value().warnings.size() == 1);
}

TEST_CASE("ARefusedRegisterIsNoAnswerOfItsChannelAlone") {
  RegisterDevice device = device_with_identity();
  device.identity.reset();
  device.channels[1].source.address = 20;  // apart, so asked for alone, and last
  ReaderBench bench(device);
  bench.device.script.push_back([](Device& d, const Bytes&, const Bytes&) {
    d.send(sealed({7, 4, 2, 0x00, 0xD7, 0, 0}));
  });
  bench.device.script.push_back([](Device& d, const Bytes&, const Bytes&) {
    d.send(sealed({7, 0x84, 2, 0, 0}));
  });
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE(harvest);
  const auto& record = harvest.value().records.at(0);
  CHECK(record.statuses[0] == ChannelStatus::ok);
  CHECK(record.raw_counts[0] == 215);
  CHECK(record.statuses[3] == ChannelStatus::no_answer);
  CHECK(harvest.value().refusal ==
        "exception 02 (illegal data address) to function 04 at register 0x0014; check function and "
        "address of its registers in job.json");
}

TEST_CASE("AnotherDeviceIsNotBelieved") {
  ReaderBench bench;
  bench.number = {0x12, 0x68};
  const auto harvest = bench.collect(std::nullopt);
  REQUIRE_FALSE(harvest);
  CHECK(harvest.error().code == ErrorCode::not_found);
  CHECK(harvest.error().context.find("holds 4712, expected 4711") != std::string::npos);
}

TEST_CASE("RecordsThatCouldNotBeCommittedForTooLongAreLostAndTold") {
  RegisterDevice device = device_with_identity();
  device.identity.reset();
  ReaderBench bench(device);
  constexpr std::size_t kMost = RegisterReader::kMostWaiting;
  for (std::size_t i = 0; i < kMost + 3; ++i) {
    REQUIRE(bench.collect(std::nullopt, 10'000));
  }
  const auto harvest = bench.collect(std::nullopt, 10'000);
  REQUIRE(harvest);
  CHECK(harvest.value().records.size() == kMost);
  REQUIRE(harvest.value().gaps.size() == 1);
  const auto& gap = harvest.value().gaps[0];
  CHECK(gap.box_id == "hall-air");
  CHECK(gap.first_sequence == 1);
  CHECK(gap.last_sequence == 4);
  CHECK(harvest.value().records.front().id == RecordId{1, 5});
  REQUIRE(bench.run(bench.reader.release(*harvest.value().release_through)));
  const auto next = bench.collect(harvest.value().release_through);
  REQUIRE(next);
  CHECK(next.value().gaps.empty());
}
