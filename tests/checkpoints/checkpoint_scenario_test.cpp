// The whole daemon over a simulated day: checkpoints at their hours, an authority that is away for
// a while, a daemon that is killed again and again.
#include <catch2/catch.hpp>
#include <iostream>
#include <random>

#include "logger/app/checkpoints/checkpoint_folder.hpp"
#include "tests/scenarios/site_rig.hpp"
#include "tests/timestamp/test_authority.hpp"

using namespace scenarios;
using namespace timestamp_tests;
using firmware::sim::RequestFate;
using logger::app::KeptCheckpoint;
using logger::app::KeptCheckpoints;

namespace {

RigSettings one_day(const std::string& url, const std::string& pem) {
  RigSettings settings;
  settings.scenario = *firmware::sim::scenario_from_name("heater-failure");
  settings.scenario.length = analysis::base::micros_from_hours(24);
  settings.job_edit_from = "\n  \"alerts\": {";
  settings.job_edit_to = "\n  \"checkpoints\": {\"every_hours\": 6, \"time_stamp_url\": \"" + url +
                         "\", \"authority_certificates\": \"" + pem + "\"},\n  \"alerts\": {";
  settings.environment["no_proxy"] = "127.0.0.1";
  return settings;
}

KeptCheckpoints kept_by(const SiteRig& rig) {
  const auto opened = rig.open();
  auto kept = logger::app::kept_checkpoints(opened.folder, opened.job.checkpoints);
  REQUIRE(kept);
  return std::move(kept).value();
}

std::vector<std::string> events_of(const SiteRig& rig, const std::string& beginning) {
  auto opened = rig.open();
  std::vector<std::string> kinds;
  const auto events = opened.store->events(0);
  REQUIRE(events);
  for (const auto& event : events.value()) {
    if (event.kind.starts_with(beginning)) {
      kinds.push_back(event.kind);
    }
  }
  return kinds;
}

}  // namespace

TEST_CASE("A day has a checkpoint every six hours, each stamped, also those of the time offline") {
  const TestServer server;
  const auto offline = TestAuthority::instance().folder() / "offline";
  SiteRig rig(one_day(server.url("/good"), "authority.pem"));
  std::filesystem::copy_file(TestAuthority::instance().folder() / "ca.pem",
                             rig.job_dir() / "authority.pem");
  int frames = 0;
  rig.site().set_request_hook([&](std::size_t, std::span<const std::uint8_t>) {
    ++frames;
    if (frames == 100) {
      write_bytes(offline, "");
    } else if (frames == 700) {
      std::filesystem::remove(offline);
    }
    return RequestFate::answer;
  });
  rig.start_daemon();
  const auto status = rig.run_to_end();
  std::filesystem::remove(offline);
  INFO(rig.daemon_log());
  REQUIRE(frames > 700);
  REQUIRE(status == 0);
  const KeptCheckpoints kept = kept_by(rig);
  REQUIRE(kept.items.size() == 4);
  CHECK(kept.anchored() == 4);
  for (std::size_t i = 1; i < kept.items.size(); ++i) {
    const auto apart = kept.items[i].checkpoint.issued_at - kept.items[i - 1].checkpoint.issued_at;
    CHECK(analysis::base::hours_from(apart) == Approx(6.0).margin(0.01));
    CHECK(kept.items[i].checkpoint.simulated);
  }
  CHECK(events_of(rig, "time_stamps_") ==
        std::vector<std::string>{"time_stamps_failing", "time_stamps_working"});
}

TEST_CASE("A daemon that is killed at any frame leaves whole files and repeats none") {
  const TestServer server;
  SiteRig rig(one_day(server.url("/good"), "authority.pem"));
  std::filesystem::copy_file(TestAuthority::instance().folder() / "ca.pem",
                             rig.job_dir() / "authority.pem");
  const unsigned seed = 20261126;
  std::cout << "kills: seed " << seed << '\n';
  std::mt19937 random(seed);
  int frames_to_go = 3;
  int kills = 0;
  rig.site().set_request_hook([&](std::size_t, std::span<const std::uint8_t>) {
    if (kills < 8 && --frames_to_go <= 0) {
      ++kills;
      frames_to_go = std::uniform_int_distribution<int>(1, 150)(random);
      rig.kill_and_restart_daemon();
    }
    return RequestFate::answer;
  });
  rig.start_daemon();
  const auto status = rig.run_to_end();
  INFO(rig.daemon_log());
  REQUIRE(status == 0);
  REQUIRE(kills == 8);
  const KeptCheckpoints kept = kept_by(rig);
  CHECK(kept.faults.empty());
  CHECK(kept.items.size() == 4);
  CHECK(kept.anchored() == kept.items.size());
}
