// When pages are pushed, how often it is tried, and what is said of it.
#include "logger/app/push/status_push.hpp"

#include <mosquitto.h>

#include <catch2/catch.hpp>

#include "logger/app/push/push_places.hpp"
#include "tests/delivery/pushed_job.hpp"

using namespace delivery_tests;
using namespace logger::app;
using Catch::Contains;

namespace {

constexpr Micros kSecond{1'000'000};
constexpr Micros kHour = analysis::base::micros_from_hours(1);

JobStatusPush put_to(const std::string& url) {
  JobStatusPush push;
  push.url = url;
  push.user = "site";
  push.password_file = "password";
  push.certificates = "ca.pem";
  return push;
}

StatusPush loaded(const PushedJob& job, UtcMicros now = kNow) {
  StatusPush push(job.folder(), job.job, false);
  auto opened = job.opened();
  REQUIRE(push.load(*opened.store, now));
  return push;
}

DutyReport turn(StatusPush& push, UtcMicros now) {
  const PushTurn done = push.work(now, {});
  DutyReport report = push.take(done, now);
  for (const auto* texts : {&report.lines, &report.warnings}) {
    for (const std::string& text : *texts) {
      CHECK_THAT(text, !Contains(kPassword) && !Contains("secret-place"));
    }
  }
  return report;
}

void store_events(const PushedJob& job, const DutyReport& report) {
  auto opened = logger::app::open_job(job.folder().root, true);
  REQUIRE(opened);
  logger::store::CommitBatch batch;
  batch.events = report.events;
  batch.seen_at = kNow;
  REQUIRE(opened.value().store->commit(batch));
}

}  // namespace

TEST_CASE("A page goes out at the start, at set hours, and when a verdict changes") {
  PushedJob job;
  const WebServer server(job.servers);
  job.job.status_pushes = {put_to(server.url("/secret-place/status.html"))};
  StatusPush push = loaded(job);
  REQUIRE(push.is_due(kNow));
  push.note_verdicts("kitchen not ready", kNow);
  const DutyReport report = turn(push, kNow);
  CHECK(report.warnings.empty());
  CHECK(report.events.empty());
  REQUIRE(report.lines.size() == 1);
  CHECK_THAT(report.lines[0], Contains("status page put to https://127.0.0.1:"));
  CHECK_THAT(job.servers.read("put-0"), Contains("Made 2026-11-26 07:05"));
  CHECK(push.due_at() == kNow + 6 * kHour);

  push.note_verdicts("kitchen not ready", kNow + kHour);
  CHECK(push.due_at() == kNow + 6 * kHour);
  push.note_verdicts("kitchen ready", kNow + kSecond);
  CHECK(push.due_at() == kNow + StatusPush::kApart);
  push.note_verdicts("kitchen not ready", kNow + kHour);
  CHECK(push.due_at() == kNow + StatusPush::kApart);
  CHECK(turn(push, kNow + kHour).lines.empty());
  CHECK_THAT(job.servers.read("put-1"), Contains("Made 2026-11-26 08:05"));
}

TEST_CASE("What fails is tried again ever later, said once, and the newest page goes out") {
  PushedJob job;
  const WebServer server(job.servers);
  job.job.status_pushes = {put_to(server.url("/secret-place/status.html"))};
  StatusPush push = loaded(job);
  job.servers.behave("503 403 drop ok");
  const DutyReport first = turn(push, kNow);
  REQUIRE(first.warnings.size() == 1);
  CHECK_THAT(first.warnings[0],
             Contains("no status page at https://127.0.0.1:") && Contains("503"));
  REQUIRE(first.events.size() == 1);
  CHECK(first.events[0].kind == "status_push_failing");
  CHECK(push.due_at() == kNow + 10 * kSecond);
  const DutyReport second = turn(push, kNow + 10 * kSecond);
  CHECK(second.warnings.empty());
  CHECK(second.events.empty());
  CHECK(push.due_at() == kNow + 30 * kSecond);
  CHECK(turn(push, kNow + 30 * kSecond).events.empty());
  push.note_verdicts("a", kNow);
  push.note_verdicts("b", kNow);
  CHECK(push.due_at() == kNow + 70 * kSecond);  // keeps its back-off
  const DutyReport last = turn(push, kNow + 70 * kSecond);
  REQUIRE(last.events.size() == 1);
  CHECK(last.events[0].kind == "status_push_working");
  CHECK(job.servers.read("put-1").empty());
  CHECK_THAT(job.servers.read("put-0"), Contains("Made 2026-11-26 07:06"));
}

TEST_CASE("After a restart a page goes out at once, and what was said to fail is not said again") {
  PushedJob job;
  const WebServer server(job.servers);
  job.job.status_pushes = {put_to(server.url("/status.html"))};
  job.servers.behave("503 503 ok");
  StatusPush before = loaded(job);
  store_events(job, turn(before, kNow));
  StatusPush after = loaded(job, kNow + kHour);
  CHECK(after.is_due(kNow + kHour));
  CHECK(turn(after, kNow + kHour).events.empty());
  const DutyReport report = turn(after, kNow + 2 * kHour);
  REQUIRE(report.events.size() == 1);
  CHECK(report.events[0].kind == "status_push_working");
}

TEST_CASE("One place that fails does not keep another from its page") {
  PushedJob job;
  const WebServer server(job.servers);
  const std::string nobody = "https://127.0.0.1:" + free_port() + "/status.html";
  job.job.status_pushes = {put_to(nobody), put_to(server.url("/status.html"))};
  StatusPush push = loaded(job);
  const DutyReport report = turn(push, kNow);
  CHECK(report.warnings.size() == 1);
  CHECK(report.lines.size() == 1);
  CHECK_FALSE(job.servers.read("put-0").empty());
  CHECK(push.due_at() == kNow + 10 * kSecond);
  // One that may let everybody wait comes last.
  const PushTurn both = push.work(kNow + 6 * kHour, {});
  REQUIRE(both.outcomes.size() == 2);
  CHECK(both.outcomes[0].place == 1);
  CHECK(both.outcomes[1].place == 0);
}

TEST_CASE("A page is left with an MQTT server, retained") {
  PushedJob job;
  const MqttServer server(job.servers);
  logger::app::JobMqttServer mqtt;
  mqtt.host = "127.0.0.1";
  mqtt.port = server.port();
  mqtt.user = "site";
  mqtt.password_file = "password";
  mqtt.certificates = "ca.pem";
  mqtt.topic = "site/kitchen";
  job.job.alerts.mqtt_server = mqtt;
  job.job.status_pushes = {JobStatusPush{}};
  StatusPush push = loaded(job);
  const DutyReport report = turn(push, kNow);
  CHECK(report.warnings.empty());
  libmosquitto_tls tls{};
  std::string authority = job.servers.file("ca.pem").string();
  tls.cafile = authority.data();
  mosquitto_message* kept = nullptr;
  REQUIRE(mosquitto_subscribe_simple(&kept, 1, true, "site/kitchen/status", 1, "127.0.0.1",
                                     mqtt.port, nullptr, 60, true, "site", kPassword.c_str(),
                                     nullptr, &tls) == MOSQ_ERR_SUCCESS);
  const std::string page(static_cast<const char*>(kept->payload),
                         static_cast<std::size_t>(kept->payloadlen));
  CHECK(kept->retain);
  mosquitto_message_free(&kept);
  CHECK_THAT(page, Contains("Made 2026-11-26 07:05"));
}

TEST_CASE("Told to stop it sends nothing and says nothing") {
  PushedJob job;
  job.job.status_pushes = {put_to("https://127.0.0.1:1/")};
  StatusPush push = loaded(job);
  std::stop_source stop;
  stop.request_stop();
  const DutyReport report = push.take(push.work(kNow, stop.get_token()), kNow);
  CHECK(report.warnings.empty());
  CHECK(report.events.empty());
}

TEST_CASE("A place that can't work is refused before the first page") {
  PushedJob job;
  const auto refused = [&](auto change) {
    JobStatusPush push = put_to("https://example.org/status.html");
    change(push);
    auto opened = job.opened();
    CHECK(check_place(opened, put_to("https://example.org/status.html")));
    const auto checked = check_place(opened, push);
    REQUIRE_FALSE(checked);
    return checked.error().context;
  };
  CHECK_THAT(refused([](auto& p) { p.url = ""; }), Contains("mqtt_server"));
  CHECK_THAT(refused([](auto& p) { p.url = "http://example.org/"; }), Contains("https://"));
  CHECK_THAT(refused([](auto& p) { p.password_file = "not-there"; }), Contains("not-there"));
  job.write("open-to-all", "x\n", 0644);
  CHECK_THAT(refused([](auto& p) { p.password_file = "open-to-all"; }), Contains("open-to-all"));
  CHECK_THAT(refused([](auto& p) {
               p.url = "sftp://example.org/a";
               p.password_file = "";
               p.host_key_sha256 = "x";
               p.key_file = "open-to-all";
             }),
             Contains("open-to-all"));
}
