#include <nlohmann/json.hpp>
#include <random>

#include "logger/app/site/access_audit.hpp"
#include "tests/site/site_bench.hpp"

using namespace site_tests;
using logger::web::AuditEntry;
using nlohmann::json;

namespace {

UtcMicros second(std::int64_t n) { return kBegin + Micros{n * 1'000'000}; }

AuditEntry refused(std::int64_t at_second, const std::string& address) {
  return {second(at_second), "", "login-refused", "password", address};
}

std::int64_t told_by(const logger::store::Event& row) {
  return json::parse(row.detail_json).value("count", std::int64_t{1});
}

}  // namespace

TEST_CASE("A flood of refused logins becomes two rows a minute, and none is forgotten") {
  AccessAudit audit;
  std::vector<logger::store::Event> rows;
  const auto take = [&](std::vector<logger::store::Event> more) {
    rows.insert(rows.end(), more.begin(), more.end());
  };
  constexpr int kAttempts = 6000;
  for (int i = 0; i < kAttempts; ++i) {
    take(audit.add(refused(i / 10, "192.0.2." + std::to_string(i % 200))));  // ten minutes
  }
  take(audit.rest());
  CHECK(rows.size() == 20);
  std::int64_t told = 0;
  for (const auto& row : rows) {
    told += told_by(row);
    CHECK(row.kind == kAccessEvent);
    CHECK(row.detail_json.size() < 400);
  }
  CHECK(told == kAttempts);
  const json joined = json::parse(rows[1].detail_json);
  CHECK(joined["peer_addresses"].size() == AccessAudit::kMostAddresses);
  CHECK(joined["more_addresses"] == true);
}

TEST_CASE("What one who is known does stands by itself") {
  AccessAudit audit;
  for (int i = 0; i < AccessAudit::kRowsOfTheirOwn; ++i) {
    const auto rows = audit.add({second(i), "u3", "note", "remark " + std::to_string(i), "::1"});
    REQUIRE(rows.size() == 1);
    CHECK(rows[0].subject == "u3");
    CHECK(json::parse(rows[0].detail_json)["detail"] == "remark " + std::to_string(i));
  }
  CHECK(audit.add({second(31), "u3", "note", "one more", "::1"}).empty());
  CHECK(audit.add({second(31), "u4", "note", "another", "::1"}).size() == 1);
  CHECK(audit.over_by(second(59)).empty());
  const auto rows = audit.over_by(second(60));
  REQUIRE(rows.size() == 1);
  CHECK(told_by(rows[0]) == 1);
  CHECK(audit.rest().empty());
}

TEST_CASE("Memory is bounded and a clock set back keeps nothing waiting") {
  AccessAudit audit;
  std::int64_t told = 0;
  constexpr int kEntries = 1000;
  for (int i = 0; i < kEntries; ++i) {
    for (const auto& row : audit.add({second(1), "", "action-" + std::to_string(i), "", "::1"})) {
      told += told_by(row);
    }
  }
  const auto rows = audit.over_by(second(0));
  CHECK(rows.size() == 1);  // the others were written at once
  for (const auto& row : rows) {
    told += told_by(row);
  }
  CHECK(told == kEntries);
}

TEST_CASE("The audit is read newest first, in pages, and shows nothing but access") {
  std::vector<logger::store::Event> events;
  for (std::int64_t id = 1; id <= 10; ++id) {
    events.push_back({id, second(id), id % 2 == 0 ? kAccessEvent : "link_up",
                      "u" + std::to_string(id), R"({"action": "note"})"});
  }
  json page = json::parse(audit_json_from(events, 0, 3));
  REQUIRE(page["entries"].size() == 3);
  CHECK(page["entries"][0]["id"] == 10);
  CHECK(page["entries"][0]["principal"] == "u10");
  CHECK(page["entries"][0]["action"] == "note");
  CHECK(page["next_before"] == 6);
  page = json::parse(audit_json_from(events, page["next_before"].get<std::int64_t>(), 3));
  CHECK(page["entries"].size() == 2);
  CHECK(page["next_before"].is_null());
}
