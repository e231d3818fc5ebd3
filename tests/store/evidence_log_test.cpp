#include "logger/store/evidence_log.hpp"

#include "logger/store/log/log_appender.hpp"
#include "logger/store/schema.hpp"
#include "tests/store/evidence_site.hpp"

using namespace store_tests;
using analysis::evidence::check_consistency;
using analysis::evidence::check_inclusion;
using analysis::evidence::hex_from_bytes;
using analysis::evidence::hex_from_digest;
using analysis::evidence::MerkleTreeBuilder;

namespace {

std::string hex_of(const std::string& bytes) {
  return hex_from_bytes({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
}

// Everything a program of schema version 1 left, `records` of one box.
void make_version_1(const std::string& path, int records) {
  Connection connection =
      must(Connection::open(path, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, {}));
  must(migrate(connection, schema_migrations().first(1)));
  const std::string count = std::to_string(records);
  must(connection.execute(
      ("UPDATE store_state SET simulated = 0, last_seen_utc_us = 1772434800000000;"
       "INSERT INTO boxes VALUES (1, 'box-a');"
       "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < " +
       count +
       ") INSERT INTO records SELECT 1, 1, i, 60000 * i, 0, 286331152, 2000 + i, NULL, NULL, NULL, "
       "NULL, NULL, NULL, NULL FROM n;"
       "INSERT INTO exchanges VALUES (1, 1, 500, 1772434800000000, 20000);"
       "INSERT INTO gaps VALUES (1, 1, 900, 950, 1, 1772434800000000);"
       "INSERT INTO events VALUES (3, 1772434800000000, 'boot', 'box-a', '{}');"
       "INSERT INTO notes VALUES (1, 1, 1, 'remark', '', 'someone', '{}');"
       "INSERT INTO calibrations VALUES (1, 1, 0, 1, 2, 1.5, 0.5, 0.1, 'lab', 'c', 1);"
       "INSERT INTO messages VALUES (1, 1, 'key', 'fired', '{}', NULL, NULL, 0, '');")
          .c_str()));
}

}  // namespace

TEST_CASE("LeafBytesAreThoseOfTheFormat") {
  Record record = sample(258);
  record.flags = 0x0102;
  record.raw_counts[1] = -2;
  CHECK(hex_of(leaf_from_record("b1", record)) ==
        "03"
        "00000002"
        "6231"
        "00000001"
        "0000000000000102"
        "0000000000ec36b4"
        "0102"
        "0000000102"
        "00fffffffe"
        "00000008d2"
        "0000000cba"
        "00000010a2"
        "000000148a"
        "0100000000"
        "0100000000");
  CHECK(hex_from_digest(analysis::evidence::leaf_hash_from_bytes(leaf_from_record("b1", record))) ==
        "57951067c6ebabc02cc3c6081b5fa19f9a33daa248c7232cb1912feb37759739");  // by sha256sum
  CHECK(hex_of(leaf_from_mark(true)) == "0101");
  CHECK(hex_of(leaf_from_exchange("b1", 2, {3, {4}, Micros{5}})) ==
        "02"
        "00000002"
        "6231"
        "00000002"
        "0000000000000003"
        "0000000000000004"
        "0000000000000005");
  CHECK(hex_of(leaf_from_gap({"b1", 2, 3, 4, GapReason::missing, {5}})) ==
        "04"
        "00000002"
        "6231"
        "00000002"
        "0000000000000003"
        "0000000000000004"
        "03"
        "0000000000000005");
  CHECK(hex_of(leaf_from_calibration({9, "b", -1, {2}, {3}, 1.0, -2.0, 0.5, "x", "", {4}})) ==
        "05"
        "0000000000000009"
        "00000001"
        "62"
        "ffffffff"
        "0000000000000002"
        "0000000000000003"
        "3ff0000000000000"
        "c000000000000000"
        "3fe0000000000000"
        "00000001"
        "78"
        "00000000"
        "0000000000000004");
  CHECK(hex_of(leaf_from_note({9, {1}, {2}, "k", "r", "b", "{}"})) ==
        "06"
        "0000000000000009"
        "0000000000000001"
        "0000000000000002"
        "00000001"
        "6b"
        "00000001"
        "72"
        "00000001"
        "62"
        "00000002"
        "7b7d");
  CHECK(hex_of(leaf_from_event({9, {1}, "k", "", "{}"})) ==
        "07"
        "0000000000000009"
        "0000000000000001"
        "00000001"
        "6b"
        "00000000"
        "00000002"
        "7b7d");
  CHECK(hex_of(leaf_from_message({9, {1}, "a", "b", "c", {{7}}, {{8}}, 5, "e"})) ==
        "08"
        "0000000000000009"
        "0000000000000001"
        "00000001"
        "61"
        "00000001"
        "62"
        "00000001"
        "63");
}

TEST_CASE("SaltedLeavesAreTheOldFieldsAndTheSalt") {
  const std::string salt = "0123456789abcdef";
  const Note plain{9, {1}, {2}, "k", "r", "b", "{}"};
  Note note = plain;
  note.salt = salt;
  CHECK(hex_of(leaf_from_note(note)) ==
        "09" + hex_of(leaf_from_note(plain)).substr(2) + hex_of(salt));
  const Calibration bare{9, "b", -1, {2}, {3}, 1.0, -2.0, 0.5, "x", "", {4}};
  Calibration calibration = bare;
  calibration.salt = salt;
  CHECK(hex_of(leaf_from_calibration(calibration)) ==
        "0a" + hex_of(leaf_from_calibration(bare)).substr(2) + hex_of(salt));
  const Message unsalted{9, {1}, "a", "b", "c", {}, {}, 0, ""};
  Message message = unsalted;
  message.salt = salt;
  CHECK(hex_of(leaf_from_message(message)) ==
        "0b" + hex_of(leaf_from_message(unsalted)).substr(2) + hex_of(salt));
}

TEST_CASE("ARecordIsReadBackFromItsLeafAndNothingElseIs") {
  using analysis::evidence::record_from_leaf;
  const std::string leaf = leaf_from_record("b1", sample(258));
  const auto read = record_from_leaf(leaf);
  REQUIRE(read);
  CHECK(read.value().box_id == "b1");
  CHECK(read.value().record == sample(258));
  for (std::size_t size = 0; size < leaf.size(); ++size) {
    CHECK_FALSE(record_from_leaf(leaf.substr(0, size)));
  }
  CHECK_FALSE(record_from_leaf(leaf + "x"));
  CHECK_FALSE(record_from_leaf(leaf_from_exchange("b1", 1, {1, {2}, Micros{3}})));
}

TEST_CASE("EqualNotesHaveOtherHashesAndAGivenSaltIsKept") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  const Note note{0, kStart, kStart, "remark", "", "someone", "{}"};
  must(store->append_note(note));
  must(store->append_note(note));
  Note given = note;
  given.salt = salt_of(3);
  must(store->append_note(given));
  const std::vector<Note> notes = must(store->notes(0));
  CHECK(notes[0].salt != notes[1].salt);
  CHECK(notes[2].salt == given.salt);
  given.salt = "short";
  CHECK(code_of(store->append_note(given)) == ErrorCode::invalid_input);
  Calibration calibration{0, "box-a", 0, kStart, kStart, 1.0, 0.0, 0.1, "", "", kStart};
  must(store->append_calibration(calibration));
  CHECK(must(store->calibrations()).at(0).salt.size() == 16);
  CHECK(check_of(folder.file()).sound());
}

TEST_CASE("TheLogHoldsTheCommittedRowsInTheirOrder") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  MerkleTreeBuilder expected;
  expected.add_leaf(leaf_from_mark(false));
  CHECK(head_of(folder.file()).root == expected.root());
  const ClockExchange clock{500, kStart, Micros{1}};
  const Gap gap{"box-b", 1, 8, 9, GapReason::missing, kStart};
  CommitBatch batch = batch_of("box-a", samples(1, 3));
  batch.boxes[0].exchanges.emplace_back(1, clock);
  batch.gaps.push_back(gap);
  batch.events.push_back({0, kStart, "boot", "box-a", "{}"});
  batch.messages.push_back({0, kStart, "key", "fired", "{}", {}, {}, 0, ""});
  must(store->commit(batch));
  must(store->append_note({0, kStart, kStart, "remark", "", "someone", "{}"}));
  const Calibration calibration{0, "box-a", 0, kStart, kStart, 1.0, 0.0, 0.1, "", "", kStart};
  CHECK(must(store->append_calibration(calibration)) == 1);
  for (const Record& record : samples(1, 3)) {
    expected.add_leaf(leaf_from_record("box-a", record));
  }
  expected.add_leaf(leaf_from_exchange("box-a", 1, clock));
  expected.add_leaf(leaf_from_gap(gap));
  expected.add_leaf(leaf_from_event({1, kStart, "boot", "box-a", "{}"}));
  const Message message = must(store->recent_messages(1)).at(0);
  CHECK(message.salt.size() == 16);
  expected.add_leaf(
      leaf_from_message({1, kStart, "key", "fired", "{}", {}, {}, 0, "", message.salt}));
  const Note note = must(store->notes(0)).at(0);
  CHECK(note.salt.size() == 16);
  expected.add_leaf(leaf_from_note({1, kStart, kStart, "remark", "", "someone", "{}", note.salt}));
  expected.add_leaf(leaf_from_calibration(must(store->calibrations()).at(0)));
  CHECK(head_of(folder.file()) == TreeHead{expected.size(), expected.root()});
  // Repeats and conflicts are no rows, so they are no entries either.
  batch.events.clear();
  batch.messages.clear();
  batch.boxes[0].records[1].raw_counts[0] = -5;
  must(store->commit(batch));
  CHECK(head_of(folder.file()) == TreeHead{expected.size(), expected.root()});
}

TEST_CASE("ACommitThatFailsLeavesNoEntry") {
  const StoreFolder folder;
  { add_rounds(folder.file(), 0, 3); }
  const TreeHead before = head_of(folder.file());
  {
    const auto store = must(open_sqlite_store(folder.file(), {.max_size_bytes = 200'000}));
    CHECK(code_of(store->commit(batch_of("box-a", samples(1000, 9000)))) == ErrorCode::no_space);
    CHECK(head_of(folder.file()) == before);
    must(store->commit(batch_of("box-a", samples(1000, 1001))));
  }
  CHECK(head_of(folder.file()).size == before.size + 2);
  CHECK(check_of(folder.file(), {before}).sound());
}

TEST_CASE("RowsThatAreNotStoredAsTheyCameAreLoggedAsStored") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch = batch_of("box-a", samples(1, 2));
  batch.boxes[0].records[0].raw_counts[7] = 5;  // of a channel that is not fitted
  // Gaps that end together and begin one after the other.
  batch.gaps = {{"box-a", 1, 3, 9, GapReason::missing, kStart},
                {"box-a", 1, 4, 9, GapReason::missing, kStart}};
  must(store->commit(batch));
  CHECK(check_of(folder.file()).sound());
  CHECK(must(must(EvidenceLog::open(folder.file())).find({LeafKind::gap, "box-a", 1, 4, 9})) == 4);
}

TEST_CASE("TwoProgramsWriteOneLog") {
  const StoreFolder folder;
  const auto first = open_marked(folder.file());
  const auto second = open_marked(folder.file());
  for (std::int64_t round = 0; round < 8; ++round) {
    add_round(round % 2 == 0 ? *first : *second, round);
    must((round % 2 == 0 ? *second : *first)
             .append_note({0, kStart, minutes_in(round), "remark", "", "someone", "{}"}));
  }
  CHECK(check_of(folder.file()).sound());
}

TEST_CASE("EveryEntryAndEveryGrowthIsProvedFromTheFile") {
  const StoreFolder folder;
  add_rounds(folder.file(), 0, 30);
  EvidenceLog log = must(EvidenceLog::open(folder.file()));
  const TreeHead head = must(log.head());
  REQUIRE(head.size > 600);
  CHECK(must(log.head_at(head.size)) == head);
  for (const std::uint64_t size : {std::uint64_t{1}, std::uint64_t{255}, std::uint64_t{256},
                                   std::uint64_t{257}, std::uint64_t{512}, head.size}) {
    CAPTURE(size);
    const TreeHead then = must(log.head_at(size));
    REQUIRE(check_consistency(then, head, must(log.prove_growth(size, head.size))));
    for (std::uint64_t position = 0; position < size; position += 1 + size / 40) {
      CAPTURE(position);
      const EntryProof proof = must(log.prove_entry(position, size));
      REQUIRE(check_inclusion(proof.leaf_hash, position, then, proof.path));
    }
  }
  const EntryRow row{LeafKind::record, "box-b", 1, 137, 0};
  const std::uint64_t position = must(log.find(row)).value();
  CHECK(must(log.prove_entry(position, head.size)).leaf_hash ==
        analysis::evidence::leaf_hash_from_bytes(leaf_from_record("box-b", sample(137))));
  CHECK_FALSE(must(log.find({LeafKind::record, "box-b", 1, 9'999, 0})));
  CHECK_FALSE(must(log.find({LeafKind::record, "box-z", 1, 137, 0})));
  CHECK(must(log.find({LeafKind::gap, "box-a", 7, 500, 509})));
  CHECK_FALSE(must(log.find({LeafKind::gap, "box-a", 7, 500, 508})));
  CHECK(must(log.find({LeafKind::salted_note, "", 0, 2, 0})));
  CHECK(code_of(log.prove_entry(head.size, head.size)) == ErrorCode::invalid_input);
  CHECK(code_of(log.prove_entry(0, head.size + 1)) == ErrorCode::invalid_input);
  CHECK(code_of(log.prove_growth(head.size, 5)) == ErrorCode::invalid_input);
}

TEST_CASE("ALogOfManyBlocksIsSoundAndProved") {
  constexpr std::int64_t kRecords = 66'000;  // past the first node over 256 blocks
  const StoreFolder folder;
  MerkleTreeBuilder expected;
  expected.add_leaf(leaf_from_mark(false));
  must(open_marked(folder.file())->commit(batch_of("box-a", samples(1, kRecords))));
  for (std::int64_t sequence = 1; sequence <= kRecords; ++sequence) {
    expected.add_leaf(leaf_from_record("box-a", sample(sequence)));
  }
  EvidenceLog log = must(EvidenceLog::open(folder.file()));
  const TreeHead head = must(log.head());
  CHECK(head == TreeHead{expected.size(), expected.root()});
  CHECK(must(log.head_at(head.size)) == head);
  const LogReport report = must(log.check());
  CHECK(report.sound());
  CHECK(report.recomputed == head);
  for (const std::uint64_t position : {0, 65'535, 65'536, 66'000}) {
    const EntryProof proof = must(log.prove_entry(position, head.size));
    CHECK(check_inclusion(proof.leaf_hash, position, head, proof.path));
  }
  {
    PlainSqlite plain{folder.file()};
    CHECK(plain.text("SELECT count(*) FROM log_nodes WHERE level = 8") == "257");
    CHECK(plain.text("SELECT count(*) FROM log_nodes WHERE level = 16") == "1");
  }
  tamper(folder.file(), "UPDATE log_nodes SET hash = zeroblob(32) WHERE level = 16");
  const LogReport spoiled = check_of(folder.file());
  REQUIRE(spoiled.finding_count == 1);
  CHECK(spoiled.findings[0].fault == LogFault::node_wrong);
}

TEST_CASE("RowsOfAnOlderStoreEnterTheLogUnderAnEventThatSaysSo") {
  const StoreFolder folder;
  make_version_1(folder.file(), 600);
  CHECK(code_of(EvidenceLog::open(folder.file())) == ErrorCode::unsupported);
  const auto store = must(open_sqlite_store(folder.file(), {}));
  const std::vector<Event> events = must(store->events(0));
  REQUIRE(events.size() == 2);
  CHECK(events[1].kind == "log_begun");
  CHECK(events[1].detail_json == R"({"rows":607})");
  CHECK(events[1].at == kStart);
  const LogReport report = check_of(folder.file());
  CHECK(report.sound());
  CHECK(report.stored.size == 608);
  EvidenceLog log = must(EvidenceLog::open(folder.file()));
  CHECK(must(log.find({LeafKind::mark, "", 0, 0, 0})) == 0);
  CHECK(must(log.find({LeafKind::record, "box-a", 1, 600, 0})) == 601);
  CHECK(must(log.find({LeafKind::event, "", 0, 4, 0})) == 607);
  must(store->commit(batch_of("box-a", samples(601, 605))));
  CHECK(check_of(folder.file()).sound());
}

// Rows from before the salt stay as they were logged, and new ones beside them are salted.
TEST_CASE("AStoreOfTheVersionBeforeTheSaltGoesOn") {
  const StoreFolder folder;
  make_version_1(folder.file(), 300);
  { must(open_sqlite_store(folder.file(), {})); }
  const TreeHead before = head_of(folder.file());
  {
    PlainSqlite plain{folder.file()};
    REQUIRE(
        plain.execute("ALTER TABLE notes DROP COLUMN salt; ALTER TABLE calibrations DROP "
                      "COLUMN salt; ALTER TABLE messages DROP COLUMN salt; DROP TABLE deliveries; "
                      "CREATE INDEX messages_undelivered ON messages (id); PRAGMA user_version = "
                      "2") == SQLITE_OK);
  }
  CHECK(code_of(EvidenceLog::open(folder.file())) == ErrorCode::unsupported);
  const auto store = must(open_sqlite_store(folder.file(), {}));
  CHECK(head_of(folder.file()) == before);
  must(store->append_note({0, kStart, kStart, "remark", "", "someone", "{}"}));
  CHECK(must(store->notes(0)).at(0).salt.empty());
  CHECK(must(store->notes(0)).at(1).salt.size() == 16);
  CHECK(check_of(folder.file(), {before}).sound());
  EvidenceLog log = must(EvidenceLog::open(folder.file()));
  CHECK(must(log.find({LeafKind::note, "", 0, 1, 0})));
  CHECK(must(log.find({LeafKind::salted_note, "", 0, 2, 0})));
}

TEST_CASE("ANewStoreHasAnEmptySoundLog") {
  const StoreFolder folder;
  const auto store = must(open_sqlite_store(folder.file(), {.create = true}));
  CHECK(head_of(folder.file()) == TreeHead{0, MerkleTreeBuilder().root()});
  CHECK(must(store->events(0)).empty());
  CHECK(check_of(folder.file()).sound());
}

TEST_CASE("ACheckOfTheLogCanBeStopped") {
  const StoreFolder folder;
  add_rounds(folder.file(), 0, 2);
  std::stop_source source;
  source.request_stop();
  CHECK(code_of(must(EvidenceLog::open(folder.file())).check({}, source.get_token())) ==
        ErrorCode::unavailable);
}

TEST_CASE("WrittenEntriesCannotBeChangedOrDeleted") {
  const StoreFolder folder;
  add_rounds(folder.file(), 0, 15);
  PlainSqlite plain{folder.file()};
  CHECK(plain.execute("UPDATE log_runs SET number = 7") == SQLITE_CONSTRAINT);
  CHECK(plain.execute("DELETE FROM log_runs") == SQLITE_CONSTRAINT);
  CHECK(plain.execute("UPDATE log_nodes SET hash = zeroblob(32)") == SQLITE_CONSTRAINT);
  CHECK(plain.execute("DELETE FROM log_nodes") == SQLITE_CONSTRAINT);
  CHECK(plain.execute("DELETE FROM log_frontier") == SQLITE_CONSTRAINT);
}
