// The daemon is killed, or its line is cut, at random moments of a simulated day; what is stored in
// the end is what an undisturbed run stores. DWELLOG_LONG=1 does 50 of each instead of 10.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <iostream>
#include <random>

#include "firmware-sim/core/wire_format.hpp"
#include "tests/scenarios/site_rig.hpp"

using namespace scenarios;
using firmware::sim::RequestFate;

namespace {

int campaign_size() { return std::getenv("DWELLOG_LONG") != nullptr ? 50 : 10; }

RigSettings one_day(double hours) {
  RigSettings settings;
  settings.scenario = *firmware::sim::scenario_from_name("heater-failure");
  settings.scenario.length = analysis::base::micros_from_hours(hours);
  return settings;
}

bool is_release(std::span<const std::uint8_t> frame) {
  return frame.size() > 4 && frame[1] == 0x10 &&
         ((frame[2] << 8) | frame[3]) == firmware::core::kRegRelease;
}

void deliver(SiteRig& rig) {
  const auto noted = dwellog({"note", rig.job_dir().string(), "delivery", "--by", "A. Sample",
                              "--at", "2026-03-02T08:00:00Z"});
  INFO(noted.out);
  REQUIRE(noted.status == 0);
}

// What must be the same, however the run was disturbed.
void require_same(SiteRig& undisturbed, SiteRig& disturbed) {
  auto expected = undisturbed.open();
  auto actual = disturbed.open();
  const auto expected_records = stored_records(expected);
  REQUIRE(expected_records.size() > 100);
  REQUIRE(stored_records(actual) == expected_records);
  const auto expected_replay = replay_by_ticks(expected);
  const auto actual_replay = replay_by_ticks(actual);
  CHECK(actual_replay.dwell() == expected_replay.dwell());
  const auto now = disturbed.site().utc_end();
  CHECK(assess_room(expected_replay.setup().requirements, actual_replay.evidence(now)).verdict ==
        assess_room(expected_replay.setup().requirements, expected_replay.evidence(now)).verdict);
  const UtcHours expected_hours = hours_by_utc(expected);
  const UtcHours actual_hours = hours_by_utc(actual);
  CHECK(std::abs(actual_hours.hours - expected_hours.hours) <=
        actual_hours.error_hours + expected_hours.error_hours);
  CHECK(actual_hours.hours > 0.5);
}

}  // namespace

TEST_CASE("AKilledDaemonLosesNothingAndStoresNothingTwice") {
  const int kills = campaign_size();
  const unsigned seed = 20261125;
  std::cout << "kill campaign: seed " << seed << '\n';
  std::mt19937 random(seed);
  const RigSettings settings = one_day(kills > 10 ? 48.0 : 12.0);
  SiteRig undisturbed(settings);
  deliver(undisturbed);
  undisturbed.start_daemon();
  INFO(undisturbed.daemon_log());
  REQUIRE(undisturbed.run_to_end() == 0);

  SiteRig disturbed(settings);
  deliver(disturbed);
  int done = 0;
  int between_insert_and_release = 0;
  // Two of three kills when a release arrives (the box has not seen it), the others at any frame.
  bool at_release = true;
  int frames_to_go = 5;
  disturbed.site().set_request_hook([&](std::size_t box, std::span<const std::uint8_t> frame) {
    if (done >= kills || --frames_to_go > 0 || (at_release && !is_release(frame))) {
      return RequestFate::answer;
    }
    disturbed.kill_daemon();
    {
      auto opened = disturbed.open();
      const auto stored = opened.store->last_record(opened.job.boxes.front().id);
      REQUIRE(stored);
      const auto released = disturbed.site().box(box).firmware().released();
      if (stored.value() &&
          stored.value()->id > logger::store::RecordId{released.boot, released.sequence}) {
        ++between_insert_and_release;
      }
    }
    disturbed.kill_and_restart_daemon();
    ++done;
    at_release = done % 3 != 2;
    frames_to_go = static_cast<int>(random() % 25) + 1;
    return RequestFate::drop;
  });
  disturbed.start_daemon();
  const auto status = disturbed.run_to_end();
  INFO(disturbed.daemon_log());
  REQUIRE(status == 0);
  std::cout << done << " kills, " << between_insert_and_release
            << " of them between insert and release\n";
  CHECK(done == kills);
  CHECK(between_insert_and_release * 10 >= kills * 6);
  require_same(undisturbed, disturbed);
}

TEST_CASE("ACutLineLosesNothingAndStoresNothingTwice") {
  const int cuts = campaign_size();
  const unsigned seed = 4242;
  std::cout << "cut campaign: seed " << seed << '\n';
  std::mt19937 random(seed);
  const RigSettings settings = one_day(cuts > 10 ? 48.0 : 12.0);
  SiteRig undisturbed(settings);
  deliver(undisturbed);
  undisturbed.start_daemon();
  REQUIRE(undisturbed.run_to_end() == 0);

  SiteRig disturbed(settings);
  deliver(disturbed);
  int done = 0;
  int replies_to_go = 5;
  bool plugged = true;
  // In the middle of a reply: some of its bytes cross, and when they have been read the terminal
  // hangs up.
  disturbed.site().set_reply_hook([&](std::size_t, std::vector<std::uint8_t>& reply) {
    if (done >= cuts || !plugged || --replies_to_go > 0) {
      return;
    }
    ++done;
    plugged = false;
    replies_to_go = static_cast<int>(random() % 25) + 1;
    reply.resize(random() % reply.size());
    constexpr analysis::base::Micros kRead{1'000};
    const auto away =
        analysis::base::Micros{(1 + static_cast<std::int64_t>(random() % 1500)) * 1'000'000};
    const auto cut_at = disturbed.site().utc_now() + kRead;
    disturbed.site().at(cut_at, [&] {
      disturbed.site().perform({.kind = firmware::sim::ActionKind::line_unplug});
    });
    disturbed.site().at(cut_at + away, [&] {
      plugged = true;
      disturbed.site().perform({.kind = firmware::sim::ActionKind::line_plug});
    });
  });
  disturbed.start_daemon();
  const auto status = disturbed.run_to_end();
  INFO(disturbed.daemon_log());
  REQUIRE(status == 0);
  std::cout << done << " cuts\n";
  CHECK(done == cuts);
  require_same(undisturbed, disturbed);
}
