#include "analysis/evidence/log/log_extract.hpp"

#include <random>

#include "logger/store/log/leaf_visit.hpp"
#include "logger/store/store_file.hpp"
#include "logger/store/store_snapshot.hpp"
#include "tests/store/evidence_site.hpp"

using namespace store_tests;
using namespace analysis::evidence;
using analysis::base::ClockMap;

namespace {

constexpr std::int64_t kTicksEnd = analysis::base::kEndOfTicks;

// MTH(D[n]) as RFC 9162 section 2.1.1 writes it down.
Sha256 naive_root(std::span<const Sha256> leaves) {
  if (leaves.empty()) {
    return sha256_from_bytes({});
  }
  if (leaves.size() == 1) {
    return leaves[0];
  }
  std::size_t split = 1;
  while (2 * split < leaves.size()) {
    split *= 2;
  }
  return node_hash_from(naive_root(leaves.first(split)), naive_root(leaves.subspan(split)));
}

// The leaf of every entry.
std::vector<Sha256> leaves_of(const std::string& path) {
  const TreeHead head = head_of(path);
  Connection connection = must(open_store_file(path, {.read_only = true}));
  std::vector<Sha256> leaves;
  const auto broken = visit_leaves(connection, 0, head.size, [&](const VisitedLeaf& leaf) {
    leaves.push_back(leaf.hash.value());
    return true;
  });
  REQUIRE_FALSE(must(broken).has_value());
  REQUIRE(naive_root(leaves) == head.root);
  return leaves;
}

struct Written {
  ExtractSummary summary;
  std::vector<ExtractLine> lines;
};

Written extract_of(const std::string& path, const ExtractRequest& request) {
  EvidenceLog log = must(EvidenceLog::open(path));
  std::string text;
  Written written{must(log.extract(request,
                                   [&](std::string_view bytes) {
                                     text += bytes;
                                     return Result<void>{};
                                   })),
                  {}};
  REQUIRE(text.ends_with('\n'));
  std::size_t at = text.find('\n');
  CHECK(text.substr(0, at) == extract_header(request.size));
  while (++at < text.size()) {
    const std::size_t end = text.find('\n', at);
    const auto line = extract_line_from(text.substr(at, end - at));
    REQUIRE(line);
    written.lines.push_back(line.value());
    at = end;
  }
  return written;
}

// Whether [first, first + size) has a bound strictly inside.
bool straddles(std::uint64_t first, std::uint64_t size, const std::vector<std::uint64_t>& bounds) {
  return std::ranges::any_of(bounds, [&](auto b) { return b > first && b < first + size; });
}

// Every line against the leaves that are there: what is shown, and that each hash is the naive root
// of its entries, complete, aligned and as large as it can be.
void check_lines(const Written& written, const std::vector<Sha256>& leaves,
                 const ExtractRequest& request, ReadingStore& store) {
  std::uint64_t entry = 0;
  std::uint64_t hidden = 0;
  std::optional<unsigned> level_before;
  for (const ExtractLine& line : written.lines) {
    CAPTURE(entry, text_from(line));
    const std::uint64_t count = entries_of(line);
    REQUIRE(entry + count <= leaves.size());
    const auto part = std::span(leaves).subspan(entry, count);
    const auto* hash = std::get_if<ExtractHash>(&line);
    if (hash != nullptr) {
      REQUIRE(hash->hash == naive_root(part));
      REQUIRE(entry % count == 0);
      REQUIRE_FALSE(straddles(entry, count, request.bounds));
      // Two equal ones that would make one are one, unless a bound lies between them.
      const bool could_join = level_before == hash->level && (entry - count) % (2 * count) == 0;
      REQUIRE((!could_join || straddles(entry - count, 2 * count, request.bounds)));
      hidden += count;
    } else if (const auto* run = std::get_if<ExtractRun>(&line)) {
      for (std::uint64_t i = 0; i < count; ++i) {
        const RecordId id{run->boot, run->first_sequence + static_cast<std::int64_t>(i)};
        const Record record = all_records(store, run->box_id, id, id).at(0);
        REQUIRE(part[i] == leaf_hash_from_bytes(leaf_from_record(run->box_id, record)));
      }
    } else if (const auto* record = std::get_if<ExtractRecord>(&line)) {
      REQUIRE(part[0] == leaf_hash_from_bytes(record->leaf));
    } else if (const auto* at = std::get_if<ExtractExchange>(&line)) {
      REQUIRE(part[0] ==
              leaf_hash_from_bytes(leaf_from_exchange(at->box_id, at->boot, at->exchange)));
    } else {
      REQUIRE(part[0] ==
              leaf_hash_from_bytes(analysis::evidence::leaf_from_gap(std::get<LoggedGap>(line))));
    }
    level_before = hash == nullptr ? std::nullopt : std::optional(hash->level);
    entry += count;
  }
  CHECK(entry == request.size);
  CHECK(hidden == written.summary.hidden_entries);
}

// How many of the readings' records stand below a size, asked entry by entry.
std::uint64_t readings_below(const std::string& path, const RecordSpan& span, std::uint64_t size) {
  EvidenceLog log = must(EvidenceLog::open(path));
  std::uint64_t below = 0;
  for (std::int64_t s = span.first_sequence; s <= span.last_sequence; ++s) {
    const auto entry = must(log.find({LeafKind::record, span.box_id, span.boot, s, 0}));
    below += entry && *entry < size ? 1 : 0;
  }
  return below;
}

template <class Line>
std::vector<Line> all_of(const Written& written) {
  std::vector<Line> found;
  for (const ExtractLine& line : written.lines) {
    if (const auto* one = std::get_if<Line>(&line)) {
      found.push_back(*one);
    }
  }
  return found;
}

}  // namespace

TEST_CASE("AnExtractCoversTheLogInOrderAndHidesWhatIsNotAsked") {
  const StoreFolder folder;
  add_rounds(folder.file(), 0, 30);
  const auto leaves = leaves_of(folder.file());
  const auto store = must(open_sqlite_store(folder.file(), {.read_only = true}));
  const RecordSpan span{"box-a", 1, 101, 200};
  const ExtractRequest request{leaves.size(), minutes_in(105), {span}, {250, 0, 500, 99'999}};
  const Written written = extract_of(folder.file(), request);
  check_lines(written, leaves, request, *store);
  CHECK(written.summary.readings == 100);
  CHECK(written.summary.head == head_of(folder.file()));
  REQUIRE(written.summary.readings_below.size() == 3);
  for (const auto& [size, below] : written.summary.readings_below) {
    CHECK(below == readings_below(folder.file(), span, size));
  }
  // The records next to the readings are shown whole, so that none is left out at the ends.
  const auto whole = all_of<ExtractRecord>(written);
  REQUIRE(whole.size() == 2);
  CHECK(whole[0].leaf == leaf_from_record("box-a", sample(100)));
  CHECK(whole[1].leaf == leaf_from_record("box-a", sample(201)));
  // The exchanges from an hour before the readings on, and the one before those.
  const auto exchanges = all_of<ExtractExchange>(written);
  const auto kept = must(store->exchanges("box-a", 1, exchanges[0].exchange.ticks_ms, kTicksEnd));
  CHECK(exchanges.size() + 1 == kept.size());  // with the nearest one before
  CHECK(exchanges[0].exchange.utc < minutes_in(45));
  CHECK(exchanges[1].exchange.utc >= minutes_in(45));
  CHECK(all_of<LoggedGap>(written).empty());  // those of box-a are of boot 7
}

TEST_CASE("LossesOfABootAreShownAndRecordsTheFileCannotTellWholly") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch = batch_of("box-a", samples(1, 20));
  batch.boxes[0].records[9].statuses[2] = ChannelStatus::fault;  // its raw count is kept
  batch.boxes[0].records[10].statuses[2] = ChannelStatus::fault;
  batch.boxes[0].records[10].raw_counts[2] = 0;
  batch.gaps = {{"box-a", 1, 21, 24, GapReason::overflow, kStart},
                {"box-b", 1, 21, 24, GapReason::overflow, kStart}};
  must(store->commit(batch));
  const auto leaves = leaves_of(folder.file());
  const ExtractRequest request{leaves.size(), kStart, {{"box-a", 1, 1, 20}}, {}};
  const Written written = extract_of(folder.file(), request);
  check_lines(written, leaves, request, *store);
  CHECK(all_of<ExtractRun>(written) ==
        std::vector<ExtractRun>{{"box-a", 1, 1, 9}, {"box-a", 1, 11, 10}});
  CHECK(all_of<ExtractRecord>(written).size() == 1);
  REQUIRE(all_of<LoggedGap>(written).size() == 1);
  CHECK(all_of<LoggedGap>(written)[0] == LoggedGap{"box-a", 1, 21, 24, 1, kStart});
  CHECK(written.summary.readings == 20);
}

TEST_CASE("ExtractsOfRandomLogsAgreeWithTheNaiveTree") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random{seed};
  const auto below = [&random](std::int64_t n) {
    return static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(n));
  };
  for (int trial = 0; trial < 6; ++trial) {
    const StoreFolder folder;
    std::int64_t last = 0;
    {
      const auto store = open_marked(folder.file());
      for (std::int64_t commit = 2 + below(12); commit > 0; --commit) {
        const std::int64_t more = 1 + below(70);
        CommitBatch batch = batch_of("box-a", samples(last + 1, last + more));
        batch.boxes[0].exchanges.emplace_back(
            1, ClockExchange{(last + more) * 60'000 + 700, minutes_in(last + more), Micros{9}});
        if (below(2) == 0) {
          batch.boxes.push_back({"box-b", samples(last + 1, last + 1 + below(300))});
        }
        must(store->commit(batch));
        last += more;
      }
    }
    const auto leaves = leaves_of(folder.file());
    const std::int64_t first = 1 + below(last);
    ExtractRequest request{leaves.size() - static_cast<std::uint64_t>(below(5)),
                           minutes_in(first),
                           {{"box-a", 1, first, first + below(last - first + 1)}},
                           {}};
    for (std::int64_t bounds = below(5); bounds > 0; --bounds) {
      request.bounds.push_back(
          static_cast<std::uint64_t>(below(static_cast<std::int64_t>(leaves.size()))));
    }
    const auto store = must(open_sqlite_store(folder.file(), {.read_only = true}));
    const Written written = extract_of(folder.file(), request);
    check_lines(
        written,
        std::vector(leaves.begin(), leaves.begin() + static_cast<std::ptrdiff_t>(request.size)),
        request, *store);
    CHECK(written.summary.head.root == naive_root(std::span(leaves).first(request.size)));
  }
}

TEST_CASE("AnExtractOfRowsThatWereChangedOrOfTooManyEntriesIsRefused") {
  const StoreFolder folder;
  add_rounds(folder.file(), 0, 6);
  const ExtractRequest request{head_of(folder.file()).size, kStart, {{"box-a", 1, 5, 20}}, {}};
  const auto code = [&](const ExtractRequest& asked) {
    const auto ignore = [](std::string_view) { return Result<void>{}; };
    return code_of(must(EvidenceLog::open(folder.file())).extract(asked, ignore));
  };
  ExtractRequest longer = request;
  ++longer.size;
  CHECK(code(longer) == ErrorCode::invalid_input);
  ExtractRequest foreign = request;
  foreign.readings[0].box_id = "box-z";
  CHECK(code(foreign) == ErrorCode::invalid_input);
  tamper(folder.file(), "UPDATE records SET raw_counts_1 = 7 WHERE box = 1 AND sequence = 9");
  CHECK(code(request) == ErrorCode::corrupt);
  tamper(folder.file(), "DELETE FROM records WHERE box = 1 AND sequence = 9");
  CHECK(code(request) == ErrorCode::corrupt);
}

TEST_CASE("AnExtractThatCannotBeWrittenGivesTheSinksError") {
  const StoreFolder folder;
  add_rounds(folder.file(), 0, 2);
  EvidenceLog log = must(EvidenceLog::open(folder.file()));
  const auto full = [](std::string_view) -> Result<void> {
    return failure(ErrorCode::no_space, "full");
  };
  CHECK(code_of(log.extract({must(log.head()).size, kStart, {}, {}}, full)) == ErrorCode::no_space);
}

TEST_CASE("StoreAndLogAreHeldAtOneMomentWhileAnotherWrites") {
  const StoreFolder folder;
  add_rounds(folder.file(), 0, 4);
  const auto writer = open_marked(folder.file());
  const auto reader = must(open_sqlite_store(folder.file(), {.read_only = true}));
  const TreeHead before = head_of(folder.file());
  {
    StoreSnapshot held = must(StoreSnapshot::hold(*reader, folder.file()));
    add_round(*writer, 4);
    must(writer->append_note({0, kStart, kStart, "remark", "", "someone", "{}"}));
    CHECK(must(held.log().head()) == before);
    CHECK(must(held.log().check()).sound());
    CHECK(all_records(*reader, "box-a").size() == 40);
    CHECK(must(reader->notes(0)).size() == 1);
    CHECK(code_of(StoreSnapshot::hold(*reader, folder.file())) == ErrorCode::unavailable);
    CHECK(all_records(*reader, "box-a").size() == 40);  // that refusal let nothing go
  }
  CHECK(all_records(*reader, "box-a").size() == 50);
  CHECK(must(reader->notes(0)).size() == 2);
  StoreSnapshot later = must(StoreSnapshot::hold(*reader, folder.file()));
  CHECK(must(later.log().head()).size > before.size);
}

// Whoever dates a history again from all exchanges gets what the store's own reader gets from the
// few that it asks for.
TEST_CASE("AHistoryIsDatedAlikeFromTheStoreAndFromAllItsExchanges") {
  const auto seed = std::random_device{}();
  INFO("seed " << seed);
  std::mt19937 random{seed};
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch;
  batch.boxes.push_back({"box-a", {}, {}});
  std::int64_t utc = 1000;  // a clock that was not set yet
  for (std::int64_t hour = 0; hour < 200; ++hour) {
    utc += hour == 3 ? kStart.value : 3'600'000'000 + static_cast<std::int64_t>(random() % 900'000);
    utc += random() % 40 == 0 ? 7'000'000'000 : 0;  // set forward
    batch.boxes[0].exchanges.emplace_back(1,
                                          ClockExchange{hour * 3'600'000, {utc}, Micros{20'000}});
  }
  must(store->commit(batch));
  const auto all = must(store->exchanges("box-a", 1, -kTicksEnd, kTicksEnd));
  for (const std::int64_t hours : {0, 5, 50, 199, 400}) {
    const UtcMicros from = kStart + std::chrono::hours(hours);
    const ClockMap newest(must(store->exchanges("box-a", 1, kTicksEnd, kTicksEnd)),
                          analysis::base::plausible_exchanges_from(1));
    const ClockMap few(
        must(store->exchanges("box-a", 1, first_dating_ticks(newest, from), kTicksEnd)),
        analysis::base::plausible_exchanges_from(1));
    const ClockMap again = clock_map_for_history(all, 1, from);
    for (std::int64_t ticks = 0; ticks < 210 * 3'600'000LL; ticks += 1'234'567) {
      REQUIRE(few.utc_from_ticks(ticks) == again.utc_from_ticks(ticks));
    }
  }
}
