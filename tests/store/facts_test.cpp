#include "tests/store/store_folder.hpp"

using namespace store_tests;

TEST_CASE("EverythingOfABatchReadsBack") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch = batch_of("box-a", samples(1, 2));
  batch.gaps.push_back({"box-b", 4, 10, 19, GapReason::overflow, kStart});
  batch.gaps.push_back({"box-a", 4, 10, 10, GapReason::missing, kStart + Micros{1}});
  batch.events.push_back({0, kStart, "link_down", "box-a", R"({"after_s":30})"});
  batch.accounts.push_back({"living", "rules-1", R"({"hours":1})"});
  batch.alert_states.push_back({"silent/box-a", "pending"});
  batch.messages.push_back({0, kStart, "silent/box-a", "fired", "{}", {}, kStart, 0, ""});
  batch.seen_at = kStart;
  must(store->commit(batch));

  const std::vector<Gap> gaps = must(store->gaps());
  REQUIRE(gaps.size() == 2);
  CHECK(gaps[0].box_id == "box-a");
  CHECK(gaps[0].reason == GapReason::missing);
  CHECK(gaps[0].noted_at == kStart + Micros{1});
  CHECK(gaps[1].box_id == "box-b");
  CHECK(gaps[1].boot == 4);
  CHECK(gaps[1].first_sequence == 10);
  CHECK(gaps[1].last_sequence == 19);
  CHECK(gaps[1].reason == GapReason::overflow);

  const std::vector<Event> events = must(store->events(0));
  REQUIRE(events.size() == 1);
  CHECK(events[0].at == kStart);
  CHECK(events[0].kind == "link_down");
  CHECK(events[0].subject == "box-a");
  CHECK(events[0].detail_json == R"({"after_s":30})");
  CHECK(must(store->events(events[0].id)).empty());

  CHECK(must(store->accounts()).at(0).state_json == R"({"hours":1})");
  CHECK(must(store->accounts()).at(0).fingerprint == "rules-1");
  CHECK(must(store->alert_states()).at(0).key == "silent/box-a");
  CHECK(must(store->alert_states()).at(0).state_json == "pending");
  CHECK(must(store->recent_messages(1)).at(0).next_attempt_at == kStart);
  CHECK(must(store->last_seen()) == kStart);
}

TEST_CASE("AGapStoredAlreadyIsKeptAsItWas") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch;
  batch.gaps = {{"box-a", 1, 5, 9, GapReason::overflow, kStart},
                {"box-a", 1, 5, 9, GapReason::missing, kStart + Micros{9}},
                {"box-a", 1, 5, 12, GapReason::overflow, kStart}};
  must(store->commit(batch));
  const std::vector<Gap> gaps = must(store->gaps());
  REQUIRE(gaps.size() == 2);
  CHECK(gaps[0].reason == GapReason::overflow);
  CHECK(gaps[1].last_sequence == 12);
}

TEST_CASE("AGapThatIsNoRangeIsRefused") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch;
  batch.gaps = {{"box-a", 1, 9, 5, GapReason::overflow, kStart}};
  CHECK(code_of(store->commit(batch)) == ErrorCode::invalid_input);
  batch.gaps = {{"", 1, 5, 9, GapReason::overflow, kStart}};
  CHECK(code_of(store->commit(batch)) == ErrorCode::invalid_input);
}

TEST_CASE("AccountsAndAlertStatesAreReplaced") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  for (const char* state : {"one", "two"}) {
    CommitBatch batch;
    batch.accounts = {{"attic", "rules", state}, {"hall", state, "same"}};
    batch.alert_states = {{"ready/attic", state}};
    must(store->commit(batch));
  }
  const std::vector<Account> accounts = must(store->accounts());
  REQUIRE(accounts.size() == 2);
  CHECK(accounts[0].state_json == "two");
  CHECK(accounts[1].fingerprint == "two");
  REQUIRE(must(store->alert_states()).size() == 1);
  CHECK(must(store->alert_states())[0].state_json == "two");
}

TEST_CASE("LastSeenNeverGoesBack") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CHECK_FALSE(must(store->last_seen()).has_value());
  for (const std::int64_t offset_us : {10, 5, 20, -5}) {
    CommitBatch batch;
    batch.seen_at = kStart + Micros{offset_us};
    must(store->commit(batch));
  }
  CHECK(must(store->last_seen()) == kStart + Micros{20});
}

TEST_CASE("NotesAndCalibrationsReadBackUnderNewIds") {
  const StoreFolder folder;
  const auto store = must(open_sqlite_store(folder.file(), {.create = true}));
  const Note note{99,
                  kStart,
                  kStart + Micros{60},
                  "gate",
                  "living",
                  "an installer",
                  "{\"flat\":true,\"text\":\"2 mm \xE2\x80\x94 ok\"}"};
  const std::int64_t first = must(store->append_note(note));
  const std::int64_t second = must(store->append_note(note));
  CHECK(second > first);
  const std::vector<Note> notes = must(store->notes(first));
  REQUIRE(notes.size() == 1);
  CHECK(notes[0].id == second);
  CHECK(notes[0].at == note.at);
  CHECK(notes[0].noted_at == note.noted_at);
  CHECK(notes[0].kind == note.kind);
  CHECK(notes[0].room_id == note.room_id);
  CHECK(notes[0].by == note.by);
  CHECK(notes[0].content_json == note.content_json);

  const Calibration calibration{0,   "box-a", 3,         kStart, kStart + Micros{5}, 1.0123, -0.25,
                                0.5, "a lab", "paper 7", kStart};
  const std::int64_t id = must(store->append_calibration(calibration));
  const std::vector<Calibration> stored = must(store->calibrations());
  REQUIRE(stored.size() == 1);
  CHECK(stored[0].id == id);
  CHECK(stored[0].box_id == "box-a");
  CHECK(stored[0].channel_index == 3);
  CHECK(stored[0].valid_from == kStart);
  CHECK(stored[0].due_at == kStart + Micros{5});
  CHECK(stored[0].gain == 1.0123);  // exactly: a double survives the file
  CHECK(stored[0].offset == -0.25);
  CHECK(stored[0].expanded_uncertainty == 0.5);
  CHECK(stored[0].by == "a lab");
  CHECK(stored[0].reference == "paper 7");
  CHECK(stored[0].noted_at == kStart);
}

TEST_CASE("TheNewestMessagesComeFirst") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch;
  for (const char* key : {"a", "b", "c"}) {
    batch.messages.push_back({0, kStart, key, "fired", "{}", {}, {}, 0, ""});
  }
  must(store->commit(batch));
  const std::vector<Message> recent = must(store->recent_messages(2));
  REQUIRE(recent.size() == 2);
  CHECK(recent[0].alert_key == "c");
  CHECK(recent[1].alert_key == "b");
  CHECK(must(store->recent_messages(-1)).empty());
}

namespace {

Delivery delivery_to(const std::string& recipient, const std::string& kind, int number = 0) {
  Delivery delivery;
  delivery.recipient = recipient;
  delivery.kind = kind;
  delivery.alert_key = "silent/box-a";
  delivery.at = kStart;
  delivery.number = number;
  delivery.due_at = kStart + Micros{5};
  delivery.held = true;
  delivery.payload_json = "{\"text\":\"" + kind + "\"}";
  return delivery;
}

}  // namespace

TEST_CASE("DeliveriesWaitUntilTheyAreDelivered") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch;
  batch.deliveries = {delivery_to("office", "fired"), delivery_to("boss", "fired"),
                      delivery_to("office", "reminder", 1)};
  must(store->commit(batch));
  std::vector<Delivery> waiting = must(store->waiting_deliveries());
  REQUIRE(waiting.size() == 3);
  for (std::size_t i = 0; i < waiting.size(); ++i) {
    batch.deliveries[i].id = waiting[i].id;
    CHECK(waiting[i] == batch.deliveries[i]);
  }
  waiting[0].attempts = 2;
  waiting[0].refused = true;
  waiting[0].last_error = "no such mailbox";
  waiting[0].next_attempt_at = kStart + Micros{30};
  must(store->update_delivery(waiting[0]));
  waiting[1].attempts = 1;
  waiting[1].delivered_at = kStart + Micros{7};
  must(store->update_delivery(waiting[1]));
  CHECK(must(store->waiting_deliveries()) == std::vector<Delivery>{waiting[0], waiting[2]});
  CHECK(must(store->recent_deliveries(2)) == std::vector<Delivery>{waiting[2], waiting[1]});
  CHECK(must(store->recent_deliveries(-1)).empty());
  waiting[0].id = 99;
  CHECK(code_of(store->update_delivery(waiting[0])) == ErrorCode::not_found);
}

TEST_CASE("TheSameIsToldToTheSameRecipientOnce") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CommitBatch batch;
  batch.deliveries = {delivery_to("office", "reminder", 1), delivery_to("office", "reminder", 1)};
  must(store->commit(batch));
  Delivery done = must(store->waiting_deliveries()).at(0);
  done.delivered_at = kStart;
  must(store->update_delivery(done));
  must(store->commit(batch));
  CHECK(must(store->waiting_deliveries()).empty());
  batch.deliveries = {delivery_to("office", "reminder", 2), delivery_to("boss", "reminder", 1)};
  must(store->commit(batch));
  CHECK(must(store->waiting_deliveries()).size() == 2);
}

TEST_CASE("WhenTheLastDigestWasMadeForIsKnown") {
  const StoreFolder folder;
  const auto store = open_marked(folder.file());
  CHECK_FALSE(must(store->newest_delivery_at("digest")));
  CommitBatch batch;
  batch.deliveries = {delivery_to("office", "digest"), delivery_to("office", "fired")};
  batch.deliveries[1].at = kStart + Micros{9};
  must(store->commit(batch));
  CHECK(must(store->newest_delivery_at("digest")) == kStart);
}

TEST_CASE("TheSimulatedMarkNeverChanges") {
  const bool simulated = GENERATE(true, false);
  const StoreFolder folder;
  {
    const auto store = must(open_sqlite_store(folder.file(), {.create = true}));
    CHECK_FALSE(must(store->simulated()).has_value());
    must(store->mark_simulated(simulated));
    must(store->mark_simulated(simulated));
  }
  const auto store = must(open_sqlite_store(folder.file(), {}));
  CHECK(must(store->simulated()) == simulated);
  CHECK(code_of(store->mark_simulated(!simulated)) == ErrorCode::invalid_input);
  CHECK(must(store->simulated()) == simulated);
  PlainSqlite plain{folder.file()};
  CHECK(plain.execute("UPDATE store_state SET simulated = 1 - simulated") == SQLITE_CONSTRAINT);
  CHECK(plain.execute("UPDATE store_state SET simulated = NULL") == SQLITE_CONSTRAINT);
  CHECK(plain.execute("DELETE FROM store_state") == SQLITE_CONSTRAINT);
}

TEST_CASE("AStoreWithoutAMarkTakesNoRecords") {
  const StoreFolder folder;
  const auto store = must(open_sqlite_store(folder.file(), {.create = true}));
  CommitBatch batch = batch_of("box-a", samples(1, 1));
  batch.seen_at = kStart;
  CHECK(code_of(store->commit(batch)) == ErrorCode::invalid_input);
  CHECK_FALSE(must(store->last_seen()).has_value());
  must(store->mark_simulated(true));
  CHECK(must(store->commit(batch)).inserted == 1);
}

TEST_CASE("ASessionThatDidNotEndAsksForACheck") {
  const StoreFolder folder;
  const auto open = [&] { return must(open_sqlite_store(folder.file(), {.create = true})); };
  {
    const auto store = open();
    CHECK_FALSE(must(store->begin_session()));
    must(store->end_session(true));
  }
  { CHECK_FALSE(must(open()->begin_session())); }  // and is never ended
  {
    const auto store = open();
    CHECK(must(store->begin_session()));
    must(store->end_session(false));  // the check did not get through
  }
  const auto store = open();
  CHECK(must(store->begin_session()));
  must(store->end_session(true));
  CHECK_FALSE(must(store->begin_session()));
}
