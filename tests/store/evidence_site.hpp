// A store with rows of every kind for the tests of the evidence log, and what an attacker does to
// its file.
#pragma once

#include "logger/store/evidence_log.hpp"
#include "tests/store/store_folder.hpp"

namespace store_tests {

using analysis::evidence::TreeHead;

inline UtcMicros minutes_in(std::int64_t minutes) { return kStart + Micros{minutes * 60'000'000}; }

// Of the rows of one round: the same in each store, so that two stores of the same rounds agree.
inline std::string salt_of(std::int64_t round) {
  return std::string(analysis::evidence::kLeafSaltBytes, static_cast<char>('a' + round % 26));
}

// One round of a site: 10 records and an exchange of each of two boxes; now and then all the rest.
inline void add_round(ReadingStore& store, std::int64_t round) {
  const UtcMicros now = minutes_in(10 * round);
  CommitBatch batch;
  for (const char* box : {"box-a", "box-b"}) {
    batch.boxes.push_back(
        {box,
         samples(10 * round + 1, 10 * round + 10),
         {{1, ClockExchange{(10 * round + 10) * 60'000 + 900, now, Micros{20'000}}}}});
  }
  if (round % 5 == 0) {
    batch.gaps.push_back({"box-a", 7, 100 * round, 100 * round + 9, GapReason::overflow, now});
    batch.events.push_back({0, now, "link_down", "box-a", R"({"reason":"no answer"})"});
    batch.events.push_back({0, now, "configuration", "", R"({"rooms":1})"});
    batch.messages.push_back(
        {0, now, "air_dry", "fired", R"({"text":"too dry"})", {}, {}, 0, "", salt_of(round)});
  }
  must(store.commit(batch));
  if (round % 5 == 0) {
    must(store.append_note(
        {0, now, now, "remark", "living", "someone", R"({"text":"dry"})", salt_of(round)}));
    must(store.append_calibration({0, "box-b", 1, now, minutes_in(500'000), 1.01, -0.2, 0.3, "lab",
                                   "c-17", now, salt_of(round)}));
  }
}

// Rounds from..to - 1 into the store at `path`, made when missing.
inline void add_rounds(const std::string& path, std::int64_t from, std::int64_t to) {
  const auto store = open_marked(path);
  for (std::int64_t round = from; round < to; ++round) {
    add_round(*store, round);
  }
}

inline TreeHead head_of(const std::string& path) {
  return must(must(EvidenceLog::open(path)).head());
}

inline LogReport check_of(const std::string& path, std::vector<TreeHead> heads = {}) {
  return must(must(EvidenceLog::open(path)).check(heads));
}

// Runs SQL on the file as someone who does not mind the triggers.
inline void tamper(const std::string& path, const std::string& sql) {
  PlainSqlite plain{path};
  REQUIRE(plain.execute(plain.text("SELECT group_concat('DROP TRIGGER ' || name, ';') FROM "
                                   "sqlite_schema WHERE type = 'trigger'")) == SQLITE_OK);
  const int code = plain.execute(sql);
  INFO(sql << ": " << plain.message());
  REQUIRE(code == SQLITE_OK);
}

}  // namespace store_tests
