#include <algorithm>
#include <random>

#include "tests/store/store_folder.hpp"

using namespace store_tests;

namespace {

// Bytes this process has asked the kernel to read so far.
std::int64_t bytes_read() {
  std::ifstream io{"/proc/self/io"};
  std::string name;
  std::int64_t value = 0;
  io >> name >> value;
  REQUIRE(name == "rchar:");
  return value;
}

}  // namespace

TEST_CASE("BootsGiveTheirExactSpans") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CHECK(must(store->boots("box-a")).empty());
  CommitBatch batch = batch_of("box-a", samples(5, 9, 3));
  for (const Record& record : samples(1, 4, 0)) {
    batch.boxes[0].records.push_back(record);
  }
  batch.boxes[0].records.push_back(sample(2, std::numeric_limits<std::uint32_t>::max()));
  batch.boxes.push_back({.box_id = "box-b", .records = samples(1, 1, 2)});
  must(store->commit(batch));
  const std::vector<BootSpan> spans = must(store->boots("box-a"));
  REQUIRE(spans.size() == 3);
  CHECK(spans[0] == BootSpan{0, 1, 4});
  CHECK(spans[1] == BootSpan{3, 5, 9});
  CHECK(spans[2] == BootSpan{std::numeric_limits<std::uint32_t>::max(), 2, 2});
}

TEST_CASE("VisitKeepsItsBoundsAndOrder") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch = batch_of("box-a", samples(1, 9, 1));
  for (const std::uint32_t boot : {2U, 4U}) {
    for (const Record& record : samples(1, 9, boot)) {
      batch.boxes[0].records.push_back(record);
    }
  }
  must(store->commit(batch));
  std::vector<Record> expected = samples(8, 9, 1);
  for (const Record& record : samples(1, 9, 2)) {
    expected.push_back(record);
  }
  expected.push_back(sample(1, 4));
  CHECK(all_records(*store, "box-a", {1, 8}, {4, 1}) == expected);
  CHECK(all_records(*store, "box-a", {2, 3}, {2, 3}) == samples(3, 3, 2));
  CHECK(all_records(*store, "box-a", {3, 0}, {3, 100}).empty());
  CHECK(all_records(*store, "box-a", {4, 1}, {1, 8}).empty());
}

TEST_CASE("VisitorStopsTheVisit") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  must(store->commit(batch_of("box-a", samples(1, 100))));
  int visited = 0;
  must(store->visit_records("box-a", kFirstId, kLastId,
                            [&](const Record&) { return ++visited < 7; }));
  CHECK(visited == 7);
}

TEST_CASE("VisitorMayReadTheSameStore") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  must(store->commit(batch_of("box-a", samples(1, 20))));
  int inner = 0;
  must(store->visit_records("box-a", kFirstId, kLastId, [&](const Record& record) {
    CHECK(must(store->find_by_ticks("box-a", 1, record.ticks_ms)) == record.id);
    inner += static_cast<int>(all_records(*store, "box-a", record.id, kLastId).size());
    return true;
  }));
  CHECK(inner == 20 * 21 / 2);
}

TEST_CASE("VisitSeesOneMomentWhileAnotherWrites") {
  const StoreFolder folder;
  const auto writer = open_marked(folder.file());
  must(writer->commit(batch_of("box-a", samples(1, 10))));
  const auto reader = must(open_sqlite_store(folder.file(), {.read_only = true}));
  std::int64_t next = 11;
  std::vector<Record> seen;
  must(reader->visit_records("box-a", kFirstId, kLastId, [&](const Record& record) {
    seen.push_back(record);
    must(writer->commit(batch_of("box-a", {sample(next++)})));
    return true;
  }));
  CHECK(seen == samples(1, 10));
  CHECK(all_records(*reader, "box-a") == samples(1, 20));
}

TEST_CASE("LastRecordIsTheGreatestBootAndSequence") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CHECK_FALSE(must(store->last_record("box-a")).has_value());
  must(store->commit(batch_of("box-a", {sample(3, 2), sample(900, 1)})));
  CHECK(must(store->last_record("box-a")) == sample(3, 2));
}

TEST_CASE("FindByTicksAgreesWithALinearSearch") {
  const unsigned seed = 47;
  INFO("seed " << seed);
  std::mt19937 random{seed};
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  std::vector<Record> records;
  std::int64_t sequence = 1;
  for (int count = 0; count < 300; ++count) {
    sequence += random() % 4 == 0 ? static_cast<std::int64_t>(random() % 1000) : 1;  // holes
    records.push_back(sample(sequence, 5));
  }
  must(store->commit(batch_of("box-a", records)));
  must(store->commit(batch_of("box-a", samples(1, 3, 6))));
  for (int tries = 0; tries < 2000; ++tries) {
    const Record& near = records[random() % records.size()];
    const std::int64_t ticks_ms = near.ticks_ms - 1 + static_cast<std::int64_t>(random() % 3);
    const auto expected = std::find_if(records.begin(), records.end(), [&](const Record& record) {
      return record.ticks_ms >= ticks_ms;
    });
    const std::optional<RecordId> found = must(store->find_by_ticks("box-a", 5, ticks_ms));
    REQUIRE(found.has_value() == (expected != records.end()));
    if (found) {
      REQUIRE(*found == expected->id);
    }
  }
  CHECK(must(store->find_by_ticks("box-a", 5, std::numeric_limits<std::int64_t>::min())) ==
        records.front().id);
  CHECK_FALSE(must(store->find_by_ticks("box-a", 4, 0)).has_value());
  CHECK_FALSE(must(store->find_by_ticks("box-z", 5, 0)).has_value());
}

TEST_CASE("FindByTicksHandlesImportedSequences") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  std::vector<Record> records;
  for (std::int64_t minute = 0; minute < 100; ++minute) {
    records.push_back(sample(kStart.value / 1000 + minute * 300'000, 0));
    records.back().ticks_ms = records.back().id.sequence;
  }
  must(store->commit(batch_of("meter", records)));
  CHECK(must(store->find_by_ticks("meter", 0, records[41].ticks_ms + 1)) == records[42].id);
}

TEST_CASE("SearchesReadOnlyAFewPages") {
  const StoreFolder folder;
  {
    const auto store = open_marked(folder.file());
    for (const char* box : {"box-a", "box-b", "box-c"}) {
      must(store->commit(batch_of(box, samples(1, 20'000))));
    }
  }
  const auto file_bytes = static_cast<std::int64_t>(std::filesystem::file_size(folder.file()));
  REQUIRE(file_bytes > 2'000'000);
  const auto store = must(open_sqlite_store(folder.file(), {.read_only = true}));
  const std::int64_t before = bytes_read();
  CHECK(must(store->boots("box-b")).size() == 1);
  CHECK(must(store->last_record("box-b")) == sample(20'000));
  CHECK(must(store->find_by_ticks("box-b", 1, sample(7'777).ticks_ms)) == RecordId{1, 7'777});
  CHECK(bytes_read() - before < 100'000);
}

TEST_CASE("ExchangesGiveTheSpanAndItsNeighbours") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch = batch_of("box-a", {});
  std::vector<ClockExchange> all;
  for (std::int64_t index = 1; index <= 9; ++index) {
    all.push_back({index * 1000, kStart + Micros{index * 1'000'000}, Micros{index}});
    batch.boxes[0].exchanges.emplace_back(1, all.back());
  }
  batch.boxes[0].exchanges.emplace_back(2, ClockExchange{3500, kStart, Micros{1}});
  must(store->commit(batch));
  const auto slice = [&](std::size_t from, std::size_t to) {
    return std::vector(all.begin() + static_cast<std::ptrdiff_t>(from),
                       all.begin() + static_cast<std::ptrdiff_t>(to));
  };
  CHECK(must(store->exchanges("box-a", 1, 3000, 5000)) == slice(1, 6));
  CHECK(must(store->exchanges("box-a", 1, 3001, 3002)) == slice(2, 4));
  CHECK(must(store->exchanges("box-a", 1, 0, 1)) == slice(0, 1));
  CHECK(must(store->exchanges("box-a", 1, 10'000, 20'000)) == slice(8, 9));
  CHECK(must(store->exchanges("box-a", 1, std::numeric_limits<std::int64_t>::min(),
                              std::numeric_limits<std::int64_t>::max())) == all);
  CHECK(must(store->exchanges("box-a", 3, 0, 9000)).empty());
  CHECK(must(store->exchanges("box-z", 1, 0, 9000)).empty());
}

TEST_CASE("FirstExchangeOfATickIsKept") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch = batch_of("box-a", {});
  const ClockExchange first{1000, kStart, Micros{5}};
  batch.boxes[0].exchanges = {{1, first}, {1, {1000, kStart + Micros{7}, Micros{1}}}};
  must(store->commit(batch));
  CHECK(must(store->exchanges("box-a", 1, 0, 2000)) == std::vector{first});
}
