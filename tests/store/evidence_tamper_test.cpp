#include <random>

#include "analysis/evidence/checkpoint.hpp"
#include "tests/store/evidence_site.hpp"

using namespace store_tests;

namespace {

using analysis::evidence::Checkpoint;

constexpr std::int64_t kRounds = 30;

// The file of a closed store of kRounds rounds; made once, since every commit waits for the disk.
const std::string& site_bytes() {
  static const std::string bytes = [] {
    const StoreFolder folder;
    add_rounds(folder.file(), 0, kRounds);
    return read_file(folder.file());
  }();
  return bytes;
}

class Site {
 public:
  Site() {
    restore();
    head_ = head_of(path());
  }
  [[nodiscard]] std::string path() const { return folder_.file(); }
  [[nodiscard]] std::string path(const std::string& name) const { return folder_.file(name); }
  [[nodiscard]] TreeHead head() const { return head_; }
  void restore() const {
    for (const char* part : {"-wal", "-shm"}) {
      std::filesystem::remove(path() + part);
    }
    write_file(path(), site_bytes());
  }

 private:
  StoreFolder folder_;
  TreeHead head_;
};

LogFinding only_finding(const LogReport& report) {
  REQUIRE(report.finding_count == 1);
  return report.findings.at(0);
}

std::uint64_t position_of(const std::string& path, const EntryRow& row) {
  return must(must(EvidenceLog::open(path)).find(row)).value();
}

// The only finding is this row, and it is located at its entry.
void finds(const Site& site, const std::string& sql, LogFault fault, const EntryRow& row) {
  INFO(sql);
  site.restore();
  const std::uint64_t position = position_of(site.path(), row);
  tamper(site.path(), sql);
  const LogFinding found = only_finding(check_of(site.path()));
  INFO(found.text);
  CHECK(found.fault == fault);
  CHECK(found.row == row);
  CHECK(found.first_entry == position);
  CHECK(found.end_entry == position + 1);
  // The root of the rows is another one too, whatever the tags say.
  CHECK(check_of(site.path()).recomputed.root != site.head().root);
}

constexpr auto kRecord = LeafKind::record;

Checkpoint checkpoint_of(const TreeHead& head) {
  analysis::evidence::SecretBytes seed;
  seed.span()[0] = 7;
  const auto text = analysis::evidence::sign_checkpoint(
      head, false, kStart, analysis::evidence::SigningKey(std::move(seed)));
  return analysis::evidence::checkpoint_from_text(text.value()).value();
}

}  // namespace

TEST_CASE("AnUntouchedStoreIsSound") {
  const Site site;
  const LogReport report = check_of(site.path(), {site.head()});
  CHECK(report.sound());
  CHECK(report.recomputed == site.head());
  CHECK(report.stored == site.head());
  CHECK(report.proved_entries == site.head().size);
  CHECK(report.notes_dated_back.empty());
}

TEST_CASE("AnEditedRowIsFoundAtItsEntry") {
  const Site site;
  const EntryRow record{kRecord, "box-a", 1, 137, 0};
  const std::string where = " WHERE box = 1 AND boot = 1 AND sequence = 137";
  const auto edited = LogFault::leaf_changed;
  finds(site, "UPDATE records SET raw_counts_1 = raw_counts_1 + 1" + where, edited, record);
  finds(site, "UPDATE records SET ticks_ms = ticks_ms - 1" + where, edited, record);
  finds(site, "UPDATE records SET flags = 1" + where, edited, record);
  finds(site, "UPDATE records SET statuses = statuses + 2" + where, edited, record);
  finds(site, "UPDATE records SET raw_counts_7 = 1" + where, edited, record);
  finds(site, "UPDATE records SET raw_counts_1 = 1099511627776" + where, edited, record);
  finds(site, "UPDATE notes SET content_json = '{\"text\":\"wet\"}' WHERE id = 2", edited,
        {LeafKind::salted_note, "", 0, 2, 0});
  finds(site, "UPDATE notes SET noted_by = 'someonel', room_id = 'iving' WHERE id = 2", edited,
        {LeafKind::salted_note, "", 0, 2, 0});
  finds(site, "UPDATE notes SET salt = zeroblob(16) WHERE id = 2", edited,
        {LeafKind::salted_note, "", 0, 2, 0});
  finds(site, "UPDATE events SET at_utc_us = at_utc_us - 1 WHERE id = 3", edited,
        {LeafKind::event, "", 0, 3, 0});
  finds(site, "UPDATE calibrations SET gain = 1.010000001 WHERE id = 2", edited,
        {LeafKind::salted_calibration, "", 0, 2, 0});
  finds(site, "UPDATE messages SET payload_json = '{}' WHERE id = 1", edited,
        {LeafKind::salted_message, "", 0, 1, 0});
  finds(site, "UPDATE gaps SET reason = 2 WHERE first_sequence = 500", edited,
        {LeafKind::gap, "box-a", 7, 500, 509});
  finds(site, "UPDATE exchanges SET host_utc_us = 0 WHERE box = 2 AND ticks_ms = 600900", edited,
        {LeafKind::exchange, "box-b", 1, 600'900, 0});
  finds(site, "UPDATE store_state SET simulated = 1", edited, {LeafKind::mark, "", 0, 0, 0});
}

TEST_CASE("DeliveryAndAccountingAreNoPartOfTheLog") {
  const Site site;
  tamper(
      site.path(),
      "UPDATE messages SET attempts = 9, delivered_utc_us = 5;"
      "INSERT INTO deliveries VALUES (1, 'office', 'fired', 'key', 1, 0, 1, 0, '{}', 9, NULL, 5, "
      "0, '');"
      "UPDATE store_state SET session_open = 1");
  CHECK(check_of(site.path()).sound());
}

TEST_CASE("ADeletedRowIsFoundAtItsEntry") {
  const Site site;
  const EntryRow record{kRecord, "box-b", 1, 200, 0};
  finds(site, "DELETE FROM records WHERE box = 2 AND sequence = 200", LogFault::row_missing,
        record);
  finds(site, "DELETE FROM notes WHERE id = 3", LogFault::row_missing,
        {LeafKind::salted_note, "", 0, 3, 0});
  // A gap that is made longer is the old one gone and a new one that was never logged.
  site.restore();
  tamper(site.path(), "UPDATE gaps SET last_sequence = 600 WHERE first_sequence = 500");
  const LogReport report = check_of(site.path());
  REQUIRE(report.finding_count == 2);
  CHECK(report.findings[0].fault == LogFault::row_missing);
  CHECK(report.findings[1].fault == LogFault::row_not_logged);
  CHECK(report.findings[1].row == EntryRow{LeafKind::gap, "box-a", 7, 500, 600});
}

TEST_CASE("AReplacedRowIsFoundAtItsEntry") {
  const Site site;
  finds(site,
        "INSERT OR REPLACE INTO records SELECT box, boot, sequence, ticks_ms, flags, statuses, 7, "
        "raw_counts_1, raw_counts_2, raw_counts_3, raw_counts_4, raw_counts_5, raw_counts_6, "
        "raw_counts_7 FROM records WHERE box = 1 AND sequence = 42",
        LogFault::leaf_changed, {kRecord, "box-a", 1, 42, 0});
}

TEST_CASE("TwoSwappedRowsAreFoundAtTheirEntries") {
  const Site site;
  tamper(site.path(),
         "UPDATE records SET sequence = -1 WHERE box = 1 AND sequence = 20;"
         "UPDATE records SET sequence = 20 WHERE box = 1 AND sequence = 90;"
         "UPDATE records SET sequence = 90 WHERE box = 1 AND sequence = -1");
  const LogReport report = check_of(site.path());
  REQUIRE(report.finding_count == 2);
  CHECK(report.findings[0].row.number == 20);
  CHECK(report.findings[1].row.number == 90);
}

TEST_CASE("ARenamedBoxIsFoundAtEveryRowOfIt") {
  const Site site;
  tamper(site.path(), "UPDATE boxes SET box_id = 'box-z' WHERE box_id = 'box-b'");
  const LogReport report = check_of(site.path());
  CHECK(report.finding_count == 10 * kRounds + kRounds + kRounds / 5);
  CHECK(report.findings.size() == LogReport::kMaxFindings);
}

TEST_CASE("ARowPutInBehindTheLogIsFound") {
  const Site site;
  const std::pair<const char*, EntryRow> added[] = {
      {"INSERT INTO records (box, boot, sequence, ticks_ms, flags, statuses) VALUES "
       "(2, 1, 301, 18060500, 0, 286331153)",
       {kRecord, "box-b", 1, 301, 0}},
      {"INSERT INTO records (box, boot, sequence, ticks_ms, flags, statuses) VALUES "
       "(2, 0, 5, 300500, 0, 286331153)",
       {kRecord, "box-b", 0, 5, 0}},
      {"INSERT INTO notes VALUES (0, 1, 1, 'remark', '', 'someone', '{}', NULL)",
       {LeafKind::note, "", 0, 0, 0}},
      {"INSERT INTO exchanges VALUES (1, 1, 5, 5, 5)", {LeafKind::exchange, "box-a", 1, 5, 0}}};
  for (const auto& [sql, row] : added) {
    INFO(sql);
    site.restore();
    tamper(site.path(), sql);
    const LogFinding found = only_finding(check_of(site.path()));
    CHECK(found.fault == LogFault::row_not_logged);
    CHECK(found.row == row);
  }
}

TEST_CASE("EntriesInAnotherOrderAreFoundInTheirBlock") {
  const Site site;
  // Two runs of ten records change places, with their tags.
  tamper(site.path(),
         "CREATE TEMP TABLE two AS SELECT first, box, number, tags FROM log_runs WHERE kind = 3 "
         "AND first BETWEEN 300 AND 330 AND count = 10 ORDER BY first LIMIT 2;"
         "UPDATE log_runs SET (box, number, tags) = (SELECT box, number, tags FROM two WHERE "
         "two.first <> log_runs.first) WHERE first IN (SELECT first FROM two)");
  const LogFinding found = only_finding(check_of(site.path()));
  CHECK(found.fault == LogFault::block_wrong);
  CHECK(found.first_entry == 256);
  CHECK(found.end_entry == 512);
}

// Who edits the tag too is found by the hash of the block, or by the root behind the last block.
TEST_CASE("AnEditedRowWithAFittingTagIsFoundInItsBlock") {
  const Site site;
  for (const std::int64_t sequence : {137, 300}) {
    CAPTURE(sequence);
    site.restore();
    const std::uint64_t position = position_of(site.path(), {kRecord, "box-a", 1, sequence, 0});
    Record edited = sample(sequence);
    edited.ticks_ms += 1;
    const auto hash = analysis::evidence::leaf_hash_from_bytes(leaf_from_record("box-a", edited));
    const std::string tag = analysis::evidence::hex_from_digest(hash).substr(0, 16);
    const std::string number = std::to_string(sequence);
    const std::string run = "kind = 3 AND box = 1 AND boot = 1 AND number <= " + number +
                            " AND number + count > " + number;
    PlainSqlite plain{site.path()};
    const std::string hex = plain.text("SELECT hex(tags) FROM log_runs WHERE " + run);
    const std::size_t at =
        16 * std::stoul(plain.text("SELECT " + number + " - number FROM log_runs WHERE " + run));
    tamper(site.path(), "UPDATE records SET ticks_ms = ticks_ms + 1 WHERE box = 1 AND sequence = " +
                            number + ";UPDATE log_runs SET tags = x'" + hex.substr(0, at) + tag +
                            hex.substr(at + 16) + "' WHERE " + run);
    const LogFinding found = only_finding(check_of(site.path()));
    CHECK(found.fault == (position < 512 ? LogFault::block_wrong : LogFault::frontier_wrong));
    CHECK(found.first_entry <= position);
    CHECK(found.end_entry > position);
    CHECK(found.end_entry - found.first_entry <= 256);
  }
}

TEST_CASE("ChangesToTheLogsOwnRowsAreFound") {
  const Site site;
  const auto fault_of = [&](const std::string& sql) {
    INFO(sql);
    site.restore();
    tamper(site.path(), sql);
    return only_finding(check_of(site.path())).fault;
  };
  CHECK(fault_of("UPDATE log_nodes SET hash = zeroblob(32) WHERE position = 1") ==
        LogFault::block_wrong);
  CHECK(fault_of("DELETE FROM log_nodes WHERE position = 1") == LogFault::node_wrong);
  const std::string peaks = PlainSqlite{site.path()}.text("SELECT hex(peaks) FROM log_frontier");
  CHECK(fault_of("UPDATE log_frontier SET peaks = x'" + std::string(64, '0') + peaks.substr(64) +
                 "'") == LogFault::frontier_wrong);
  CHECK(fault_of("UPDATE log_frontier SET peaks = x'00'") == LogFault::frontier_wrong);
  CHECK(fault_of("UPDATE log_runs SET tags = zeroblob(8) WHERE first = 0") ==
        LogFault::leaf_changed);
  CHECK(fault_of("UPDATE log_runs SET tags = x'00' WHERE kind = 1") == LogFault::order_broken);
}

TEST_CASE("AnEntryThatNamesNoKnownKindEndsTheCheckThere") {
  const Site site;
  tamper(site.path(), "UPDATE log_runs SET kind = 77 WHERE kind = 1");
  const LogReport report = check_of(site.path());
  REQUIRE(report.finding_count == 2);
  CHECK(report.findings[0].fault == LogFault::order_broken);
  CHECK(report.findings[0].first_entry == 0);
  CHECK(report.findings[1].row == EntryRow{LeafKind::mark, "", 0, 0, 0});
}

TEST_CASE("ACutTailIsFound") {
  const Site site;
  const std::uint64_t cut = site.head().size - 30;
  tamper(site.path(), "DELETE FROM log_runs WHERE first >= " + std::to_string(cut));
  const LogReport crude = check_of(site.path());
  REQUIRE_FALSE(crude.sound());
  CHECK(crude.findings[0].fault == LogFault::order_broken);
  CHECK(crude.findings[0].end_entry == site.head().size);
  // Done well it is an older copy of the file: only a later checkpoint tells.
  const std::string older = site.path("older.db");
  add_rounds(older, 0, kRounds - 3);
  CHECK(check_of(older).sound());
  const LogFinding found = only_finding(check_of(older, {site.head()}));
  CHECK(found.fault == LogFault::head_differs);
  CHECK(found.first_entry == head_of(older).size);
  CHECK(found.end_entry == site.head().size);
}

TEST_CASE("TwoHistoriesAreToldApartByTheirCheckpoints") {
  const Site site;
  const std::string fork = site.path("fork.db");
  std::filesystem::copy_file(site.path(), fork);
  add_rounds(site.path(), kRounds, kRounds + 3);
  add_rounds(fork, kRounds + 1, kRounds + 7);
  const TreeHead mine = head_of(site.path());
  const TreeHead theirs = head_of(fork);
  REQUIRE(mine.root != theirs.root);
  CHECK(check_of(site.path(), {site.head(), mine}).sound());
  const LogFinding found = only_finding(check_of(fork, {site.head(), mine}));
  CHECK(found.fault == LogFault::head_differs);
  CHECK(found.first_entry == site.head().size);
  const auto path = must(must(EvidenceLog::open(fork)).prove_growth(site.head().size, theirs.size));
  CHECK(check_continuation(checkpoint_of(site.head()), checkpoint_of(theirs), path));
  CHECK_FALSE(check_continuation(checkpoint_of(mine), checkpoint_of(theirs), path));
  // An old checkpoint shown again is of the past and says so by its size.
  CHECK(check_of(fork, {site.head()}).proved_entries == site.head().size);
}

// Who holds the key can write the whole store anew, tags and nodes and root included.
TEST_CASE("ARewrittenHistoryIsFoundBelowAnEarlierCheckpointOnly") {
  const Site site;
  EvidenceLog log = must(EvidenceLog::open(site.path()));
  const TreeHead early = must(log.head_at(250));
  const TreeHead middle = must(log.head_at(500));
  const std::string rewritten = site.path("rewritten.db");
  {
    const auto store = open_marked(rewritten);
    for (std::int64_t round = 0; round < kRounds; ++round) {
      if (round != 18) {
        add_round(*store, round);
        continue;
      }
      CommitBatch batch = batch_of("box-a", samples(181, 190));
      batch.boxes[0].records[3].raw_counts[1] -= 900;
      must(store->commit(batch));
    }
  }
  REQUIRE(position_of(rewritten, {kRecord, "box-a", 1, 184, 0}) > 250);
  REQUIRE(position_of(rewritten, {kRecord, "box-a", 1, 184, 0}) < 500);
  CHECK(check_of(rewritten).sound());
  const LogReport above = check_of(rewritten, {early});
  CHECK(above.sound());
  CHECK(above.proved_entries == 250);
  const LogReport below = check_of(rewritten, {middle, early});
  const LogFinding found = only_finding(below);
  CHECK(found.fault == LogFault::head_differs);
  CHECK(found.first_entry == 250);
  CHECK(found.end_entry == 500);
  CHECK(below.proved_entries == 250);
}

TEST_CASE("ANoteUnderAClockThatWasSetBackIsTold") {
  const Site site;
  {
    const auto store = open_marked(site.path());
    must(store->append_note({0, kStart, minutes_in(9000), "remark", "", "someone", "{}"}));
    must(store->append_note({0, kStart, minutes_in(60), "remark", "", "someone", "{}"}));
  }
  const LogReport report = check_of(site.path());
  CHECK(report.sound());
  CHECK(report.notes_dated_back == std::vector<std::int64_t>{8});
}

TEST_CASE("NoSingleChangeOfAnyLoggedValueStaysHidden") {
  const unsigned seed = 1962;
  INFO("seed " << seed);
  std::mt19937 random{seed};
  const Site site;
  const std::pair<const char*, std::vector<const char*>> tables[] = {
      {"records", {"boot", "sequence", "ticks_ms", "flags", "statuses", "raw_counts_0"}},
      {"exchanges", {"boot", "ticks_ms", "host_utc_us", "error_us"}},
      {"gaps", {"boot", "first_sequence", "last_sequence", "reason", "noted_utc_us"}},
      {"events", {"id", "at_utc_us", "kind", "subject", "detail_json"}},
      {"notes", {"id", "at_utc_us", "noted_utc_us", "kind", "room_id", "noted_by", "content_json"}},
      {"calibrations",
       {"id", "channel_index", "valid_from_utc_us", "due_utc_us", "gain", "offset_file_unit",
        "expanded_uncertainty_file_unit", "calibrated_by", "reference", "noted_utc_us"}},
      {"messages", {"id", "at_utc_us", "alert_key", "transition", "payload_json"}}};
  for (const auto& [table, columns] : tables) {
    for (const std::string column : columns) {
      site.restore();
      PlainSqlite plain{site.path()};
      const std::string rows = plain.text(std::string("SELECT count(*) FROM ") + table);
      const std::string offset = std::to_string(random() % std::stoul(rows));
      const bool is_text = plain.text("SELECT typeof(" + column + ") FROM " + table) == "text";
      // Far enough away that the new identity is free.
      const std::string value = is_text ? column + " || 'x'" : column + " + 1000003";
      const std::string key = std::string(table) == "records"     ? "(box, boot, sequence)"
                              : std::string(table) == "exchanges" ? "(box, boot, ticks_ms)"
                              : std::string(table) == "gaps"
                                  ? "(box, boot, first_sequence, last_sequence)"
                                  : "(id)";
      tamper(site.path(), std::string("UPDATE ") + table + " SET " + column + " = " + value +
                              " WHERE " + key + " = (SELECT " + key.substr(1, key.size() - 2) +
                              " FROM " + table + " LIMIT 1 OFFSET " + offset + ")");
      INFO(table << "." << column << " of row " << offset);
      CHECK_FALSE(check_of(site.path()).sound());
    }
  }
}
