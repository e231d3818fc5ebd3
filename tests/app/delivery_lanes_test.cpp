// Deliveries from a real store to real programs, on a clock that the test sets; and local clocks.
#include "logger/app/alerts/delivery_lanes.hpp"

#include <catch2/catch.hpp>
#include <fstream>

#include "logger/app/alerts/alert_states.hpp"
#include "logger/app/alerts/local_clock.hpp"
#include "tests/app/scratch_folder.hpp"

using namespace logger::app;
using logger::store::Delivery;
using logger::store::Result;

namespace {

constexpr UtcMicros kStart{1'772'352'000'000'000};  // 2026-03-01T08:00:00Z

class SetClock final : public logger::ingest::Clock {
 public:
  UtcMicros now = kStart;
  [[nodiscard]] UtcMicros utc_now() const override { return now; }
  [[nodiscard]] Micros monotonic_now() const override { return now - kStart; }
  TimerId call_after(Micros /*delay*/, std::function<void()> /*handler*/) override { return 0; }
  void cancel(TimerId /*id*/) override {}
};

JobRecipient command_to(const std::string& id, std::vector<std::string> argv) {
  JobRecipient recipient;
  recipient.id = id;
  recipient.command = std::move(argv);
  return recipient;
}

class Site {
 public:
  explicit Site(std::vector<JobRecipient> recipients) {
    alerts.recipients = std::move(recipients);
    auto opened =
        logger::store::open_sqlite_store((folder.path() / "s.sqlite").string(), {.create = true});
    REQUIRE(opened);
    store = std::move(opened).value();
  }
  // Number n in the payload of what is planned.
  void plan(const std::string& recipient, int n, Micros due_after = Micros{0}, bool held = false) {
    Delivery delivery = delivery_to(recipient, n);
    delivery.due_at = kStart + due_after;
    delivery.held = held;
    plan(delivery);
  }
  static Delivery delivery_to(const std::string& recipient, int n,
                              const std::string& alert_key = "out_of_band/hall") {
    Delivery delivery;
    delivery.recipient = recipient;
    delivery.kind = "fired";
    delivery.alert_key = alert_key;
    delivery.at = kStart + Micros{n};
    delivery.due_at = kStart;
    delivery.payload_json = "{\"n\":" + std::to_string(n) + "}";
    return delivery;
  }
  // As it stands in the store, with what fires now.
  void fire(const std::string& alert_key) {
    auto alert = analysis::alerts::alert_from_key(alert_key);
    REQUIRE(alert);
    alert->state.phase = analysis::alerts::Phase::firing;
    alert->telling.fired_at = kStart;
    logger::store::CommitBatch batch;
    batch.alert_states = {row_from_alert(*alert)};
    REQUIRE(store->commit(batch));
  }
  void plan(const Delivery& delivery) {
    logger::store::CommitBatch batch;
    batch.deliveries = {delivery};
    REQUIRE(store->commit(batch));
  }
  // One start of what is due, to its end.
  void deliver() {
    boost::asio::io_context loop;
    DeliveryLanes lanes(ports(loop), alerts, folder.path().string());
    lanes.start_due(*store);
    loop.run();
    CHECK_FALSE(lanes.at_work());
    next_at = lanes.next_at();
  }
  [[nodiscard]] std::string file(const std::string& name) const {
    std::ifstream in(folder.path() / name);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  // A command that appends what it is given to that file.
  [[nodiscard]] std::vector<std::string> append_to(const std::string& name) const {
    return {"sh", "-c", "cat >> " + (folder.path() / name).string()};
  }
  [[nodiscard]] std::vector<Delivery> waiting() const {
    return store->waiting_deliveries().value();
  }

  ScratchFolder folder;
  SetClock clock;
  JobAlerts alerts;
  std::unique_ptr<logger::store::ReadingStore> store;
  std::optional<UtcMicros> next_at;
  std::vector<std::string> warnings;

 private:
  boost::asio::awaitable<Result<void>> keep(std::vector<Delivery> deliveries) {
    for (const Delivery& delivery : deliveries) {
      const auto kept = store->update_delivery(delivery);
      if (!kept) {
        co_return kept;
      }
    }
    co_return Result<void>{};
  }
  DeliveryLanes::Ports ports(boost::asio::io_context& loop) {
    // The loop has nothing to do while a program runs.
    work_.emplace(loop.get_executor());
    return {loop, clock, [this](const std::string& line) { warnings.push_back(line); },
            [this](std::vector<Delivery> deliveries) { return keep(std::move(deliveries)); },
            [this] { work_.reset(); }};
  }
  std::optional<boost::asio::executor_work_guard<boost::asio::io_context::executor_type>> work_;
};

}  // namespace

TEST_CASE("One that fails holds up its own recipient alone, and is tried again later") {
  Site site({command_to("shed", {"false"})});
  site.alerts.recipients.push_back(command_to("office", site.append_to("office")));
  site.plan("shed", 1);
  site.plan("office", 2);
  site.plan("shed", 3);
  site.plan("office", 4);
  site.deliver();
  CHECK(site.file("office") == "{\"n\":2}\n{\"n\":4}\n");
  auto waiting = site.waiting();
  REQUIRE(waiting.size() == 2);
  CHECK(waiting[0].attempts == 1);
  CHECK(waiting[0].last_error.find("ended with status 1") != std::string::npos);
  CHECK(waiting[1].attempts == 0);  // in order: it comes after the first
  CHECK(site.next_at == kStart + std::chrono::seconds(10));
  CHECK(site.warnings.size() == 1);
  site.alerts.recipients[0].command = site.append_to("shed");
  site.clock.now = kStart + std::chrono::seconds(9);
  site.plan("shed", 5);
  site.alerts.recipients[1].command = {"false"};  // nothing is left for it
  site.clock.now = kStart + std::chrono::seconds(10);
  site.deliver();
  CHECK(site.file("shed") == "{\"n\":1}\n{\"n\":3}\n{\"n\":5}\n");
  CHECK(site.waiting().empty());
}

TEST_CASE("What the other side refuses holds up nothing") {
  Site site({command_to("office", {"/dev/null"})});  // no program
  site.plan("office", 1);
  site.plan("office", 2);
  site.deliver();
  const auto waiting = site.waiting();
  REQUIRE(waiting.size() == 2);
  CHECK(waiting[0].refused);
  CHECK(waiting[1].refused);
  CHECK(site.next_at == kStart + std::chrono::hours(1));
}

TEST_CASE("What failed before quiet hours waits until they end, and is joined then") {
  JobRecipient office = command_to("office", {"false"});
  office.quiet_hours = {std::chrono::hours(20), std::chrono::hours(7)};
  Site site({office});
  site.alerts.settings.urgent = {analysis::alerts::RuleKind::lid_open};
  const UtcMicros evening = kStart + std::chrono::hours(12);  // 20:00
  const UtcMicros morning = kStart + std::chrono::hours(23);
  site.plan("office", 1);
  site.plan("office", 2);
  site.clock.now = evening - std::chrono::seconds(5);
  site.deliver();
  CHECK(site.waiting().at(0).next_attempt_at == morning);
  CHECK(site.next_at == morning);
  site.alerts.recipients[0].command = site.append_to("office");
  site.plan(Site::delivery_to("office", 3, "lid_open/box-1"));
  site.plan("office", 4, std::chrono::hours(23), true);
  site.clock.now = evening + std::chrono::hours(1);
  site.deliver();
  CHECK(site.file("office") == "{\"n\":3}\n");  // urgent
  CHECK(site.waiting().size() == 3);
  CHECK(site.next_at == morning);
  site.clock.now = morning;
  site.deliver();
  CHECK(site.file("office").find("\"messages\":[{\"n\":1},{\"n\":2},{\"n\":4}]") !=
        std::string::npos);
  CHECK(site.waiting().empty());
}

TEST_CASE("A reminder or escalation that nobody needs any more is dropped") {
  Site site({});
  site.alerts.recipients.push_back(command_to("office", site.append_to("office")));
  const auto again = [](int n, const std::string& kind, const std::string& alert_key) {
    Delivery delivery = Site::delivery_to("office", n, alert_key);
    delivery.kind = kind;
    delivery.at = kStart;
    return delivery;
  };
  site.fire("out_of_band/hall");
  site.fire("lid_open/box-1");
  logger::store::Note note;
  note.at = note.noted_at = kStart + Micros{1};
  note.kind = "acknowledgement";
  note.by = "Anna";
  note.content_json =
      R"({"alert_key":"lid_open/box-1","fired_at_utc":"2026-03-01T08:00:00Z","remark":""})";
  REQUIRE(site.store->append_note(note));
  site.plan(again(1, "reminder", "out_of_band/hall"));  // fires still
  site.plan(again(2, "escalation", "lid_open/box-1"));  // acknowledged
  site.plan(again(3, "escalation", "tilted/box-1"));    // over
  site.plan(again(4, "cleared", "tilted/box-1"));       // of what was not told
  site.plan(again(5, "cleared", "supply_low/box-1"));
  site.deliver();
  CHECK(site.file("office") == "{\"n\":1}\n{\"n\":5}\n");
  CHECK(site.waiting().empty());
  REQUIRE(site.warnings.size() == 3);
  CHECK(site.warnings[0].find("was acknowledged") != std::string::npos);
  CHECK(site.warnings[1].find("has ended") != std::string::npos);
  const auto all = site.store->recent_deliveries(10).value();
  CHECK(std::count_if(all.begin(), all.end(), [](const Delivery& delivery) {
          return delivery.last_error.starts_with("not sent: ") && delivery.attempts == 0;
        }) == 3);
}

TEST_CASE("A digest that fails is called one") {
  Site site({command_to("office", {"false"})});
  Delivery digest = Site::delivery_to("office", 1, "");
  digest.kind = "digest";
  site.plan(digest);
  site.deliver();
  REQUIRE(site.warnings.size() == 1);
  CHECK(site.warnings[0].find("digest not delivered to office, attempt 1: ") == 0);
}

TEST_CASE("What was held goes out as one when it is due, and what is urgent before it") {
  Site site({});
  site.alerts.recipients.push_back(command_to("office", site.append_to("office")));
  site.plan("office", 1, std::chrono::hours(8), true);
  site.plan("office", 2, std::chrono::hours(8), true);
  site.plan("office", 3);
  site.deliver();
  CHECK(site.file("office") == "{\"n\":3}\n");
  CHECK(site.waiting().size() == 2);
  CHECK(site.next_at == kStart + std::chrono::hours(8));
  site.clock.now = kStart + std::chrono::hours(8);
  site.deliver();
  CHECK(site.file("office").find("\"messages\":[{\"n\":1},{\"n\":2}]") != std::string::npos);
  CHECK(site.waiting().empty());
}

TEST_CASE("Whom the job no longer names gets nothing, and it waits") {
  Site site({command_to("office", {"true"})});
  site.plan("gone", 1);
  site.plan("office", 2);
  site.deliver();
  REQUIRE(site.waiting().size() == 1);
  CHECK(site.waiting()[0].recipient == "gone");
  CHECK(site.waiting()[0].attempts == 0);
}

TEST_CASE("A secret that is missing is told, and tried again") {
  JobRecipient hook;
  hook.id = "hook";
  hook.webhook_url = "http://127.0.0.1:9/";
  hook.webhook_secret_file = "no-such-file";
  Site site({hook});
  site.plan("hook", 1);
  site.deliver();
  REQUIRE(site.warnings.size() == 1);
  CHECK(site.warnings[0].find("recipient hook: ") != std::string::npos);
  CHECK(site.waiting().at(0).attempts == 1);
  CHECK_FALSE(site.waiting().at(0).refused);
}

TEST_CASE("Local clocks follow the zone's summer time") {
  const auto clock = local_clock_from("Europe/Vienna");
  REQUIRE(clock);
  const auto offset_at = [&](const char* text) {
    return clock.value()(analysis::base::utc_from_rfc3339(text).value());
  };
  // EU directive 2000/84/EC: the last Sundays of March and October, 01:00 UTC.
  CHECK(offset_at("2026-03-29T00:59:59Z") == std::chrono::hours(1));
  CHECK(offset_at("2026-03-29T01:00:00Z") == std::chrono::hours(2));
  CHECK(offset_at("2026-10-25T00:59:59Z") == std::chrono::hours(2));
  CHECK(offset_at("2026-10-25T01:00:00Z") == std::chrono::hours(1));
  CHECK(local_clock_from("UTC").value()(kStart) == Micros{0});
  const auto unknown = local_clock_from("Europe/Nowhere");
  REQUIRE_FALSE(unknown);
  CHECK(unknown.error().context.find("Europe/Nowhere") != std::string::npos);
}
