#include <numeric>
#include <random>

#include "tests/store/store_folder.hpp"

using namespace store_tests;

TEST_CASE("RecordsReadBackAsTheyWereCommitted") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  Record extremes = sample(7, std::numeric_limits<std::uint32_t>::max());
  extremes.flags = 0xffff;
  extremes.ticks_ms = std::numeric_limits<std::int64_t>::max();
  extremes.statuses = {ChannelStatus::ok,
                       ChannelStatus::fault,
                       ChannelStatus::no_answer,
                       ChannelStatus::open_circuit,
                       ChannelStatus::out_of_range,
                       ChannelStatus::warming_up,
                       static_cast<ChannelStatus>(15),
                       ChannelStatus::ok};
  extremes.raw_counts = {std::numeric_limits<std::int32_t>::min(), -1, 0, 1, 2, 3, 4,
                         std::numeric_limits<std::int32_t>::max()};
  Record imported = sample(1'772'434'800'000, 0);
  const std::vector<Record> expected{imported, sample(1), sample(2), extremes};
  CHECK(
      must(store->commit(batch_of("box-a", {extremes, sample(2), imported, sample(1)}))).inserted ==
      4);
  CHECK(all_records(*store, "box-a") == expected);
  const auto reopened = must(open_sqlite_store(folder.file(), {.read_only = true}));
  CHECK(all_records(*reopened, "box-a") == expected);
}

TEST_CASE("RawCountOfAChannelThatIsNotFittedIsNotKept") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  Record record = sample(1);
  record.raw_counts[7] = 4711;
  must(store->commit(batch_of("box-a", {record})));
  CHECK(all_records(*store, "box-a").at(0).raw_counts[7] == 0);
  CHECK(must(store->commit(batch_of("box-a", {record}))).repeated == 1);
  PlainSqlite plain{folder.file()};
  CHECK(plain.text("SELECT count(*) FROM records WHERE raw_counts_7 IS NULL") == "1");
}

TEST_CASE("RawCountOfAFaultyChannelIsKept") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  Record record = sample(1);
  record.statuses[2] = ChannelStatus::out_of_range;
  record.raw_counts[2] = 32'767;
  must(store->commit(batch_of("box-a", {record})));
  CHECK(all_records(*store, "box-a") == std::vector{record});
}

TEST_CASE("BoxesAreKeptApart") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch = batch_of("box-a", samples(1, 3));
  batch.boxes.push_back({.box_id = "box-b", .records = samples(2, 2)});
  batch.boxes.push_back({.box_id = "box-a", .records = samples(4, 4)});  // twice in one batch
  must(store->commit(batch));
  CHECK(all_records(*store, "box-a") == samples(1, 4));
  CHECK(all_records(*store, "box-b") == samples(2, 2));
  CHECK(all_records(*store, "box-c").empty());
  CHECK(all_records(*store, "").empty());
}

TEST_CASE("SameRecordsCommittedHundredTimesAreStoredOnce") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch = batch_of("box-a", samples(1, 50));
  batch.boxes[0].exchanges.emplace_back(1, ClockExchange{500, kStart, Micros{2000}});
  batch.gaps.push_back({"box-a", 1, 51, 60, GapReason::overflow, kStart});
  CHECK(must(store->commit(batch)).inserted == 50);
  for (int again = 0; again < 100; ++again) {
    const CommitCounts counts = must(store->commit(batch));
    REQUIRE(counts.inserted == 0);
    REQUIRE(counts.repeated == 50);
    REQUIRE(counts.conflicting.empty());
  }
  PlainSqlite plain{folder.file()};
  CHECK(plain.text("SELECT count(*) FROM records") == "50");
  CHECK(plain.text("SELECT count(*) FROM exchanges") == "1");
  CHECK(plain.text("SELECT count(*) FROM gaps") == "1");
  CHECK(all_records(*store, "box-a") == samples(1, 50));
}

TEST_CASE("RepeatWithinOneBatchIsCountedAsRepeated") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  const CommitCounts counts = must(store->commit(batch_of("box-a", {sample(1), sample(1)})));
  CHECK(counts.inserted == 1);
  CHECK(counts.repeated == 1);
}

TEST_CASE("OtherContentUnderAStoredIdentityIsReportedAndTheStoredOneKept") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  must(store->commit(batch_of("box-a", samples(1, 5))));
  std::vector<Record> changed(5, sample(3));
  changed[0].raw_counts[0] += 1;
  changed[1].ticks_ms += 1;
  changed[2].flags = 1;
  changed[3].statuses[1] = ChannelStatus::fault;
  changed[4].statuses[0] = ChannelStatus::not_fitted;
  for (const Record& record : changed) {
    // Catch-up goes on: what is new in the same batch is stored.
    const std::int64_t next = all_records(*store, "box-a").back().id.sequence + 1;
    const CommitCounts counts =
        must(store->commit(batch_of("box-a", {sample(2), record, sample(next)})));
    CHECK(counts.inserted == 1);
    CHECK(counts.repeated == 1);
    REQUIRE(counts.conflicting.size() == 1);
    CHECK(counts.conflicting[0].box_id == "box-a");
    CHECK(counts.conflicting[0].id == RecordId{1, 3});
  }
  CHECK(all_records(*store, "box-a") == samples(1, 10));
}

TEST_CASE("RecordsThatCannotBeStoredAreRefusedWhole") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  Record bad_status = sample(2);
  bad_status.statuses[4] = static_cast<ChannelStatus>(16);
  Record bad_sequence = sample(-1);
  for (const Record& bad : {bad_status, bad_sequence}) {
    const auto refused = store->commit(batch_of("box-a", {sample(1), bad}));
    CHECK(code_of(refused) == ErrorCode::invalid_input);
    CHECK(refused.error().context.find("box-a") != std::string::npos);
  }
  CHECK(code_of(store->commit(batch_of("", {sample(1)}))) == ErrorCode::invalid_input);
  CHECK(all_records(*store, "box-a").empty());
}

TEST_CASE("RandomOrderAndOverlapGiveTheSameStore") {
  const unsigned seed = 20260302;
  INFO("seed " << seed);
  std::mt19937 random{seed};
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  std::vector<Record> pool = samples(1, 400);
  const std::vector<Record> second_boot = samples(1, 400, 2);
  pool.insert(pool.end(), second_boot.begin(), second_boot.end());
  const std::vector<Record> expected = pool;
  std::shuffle(pool.begin(), pool.end(), random);
  std::int64_t inserted = 0;
  for (std::size_t at = 0; at < pool.size(); at += 40) {
    // The last ten of the batch before come again, as after a lost acknowledgement.
    const auto begin = pool.begin() + static_cast<std::ptrdiff_t>(at < 10 ? 0 : at - 10);
    const auto end = pool.begin() + static_cast<std::ptrdiff_t>(at + 40);
    inserted += must(store->commit(batch_of("box-a", {begin, end}))).inserted;
  }
  CHECK(inserted == 800);
  CHECK(all_records(*store, "box-a") == expected);
}
