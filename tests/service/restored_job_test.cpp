// A job is backed up while its logger runs, its folder is lost, and the restored one goes on: what
// the box still held is fetched, what it had released meanwhile is noted as missing.
#include <catch2/catch.hpp>

#include "logger/store/evidence_log.hpp"
#include "tests/scenarios/site_rig.hpp"

using namespace scenarios;
using firmware::sim::RequestFate;
namespace fs = std::filesystem;

namespace {

RigSettings quarter_day() {
  RigSettings settings;
  settings.scenario = *firmware::sim::scenario_from_name("heater-failure");
  settings.scenario.length = analysis::base::micros_from_hours(6.0);
  return settings;
}

// Backs up at one frame; at a later one (or the same) the folder is lost and restored.
void lose_and_restore(SiteRig& rig, const fs::path& backup, int backup_at_frame,
                      int lose_at_frame) {
  int frames = 0;
  rig.site().set_request_hook([&rig, backup, backup_at_frame, lose_at_frame, frames](
                                  std::size_t, std::span<const std::uint8_t>) mutable {
    ++frames;
    if (frames == backup_at_frame) {
      const auto made = dwellog({"backup", rig.job_dir().string(), backup.string()});
      INFO(made.out);
      REQUIRE(made.status == 0);
    }
    if (frames != lose_at_frame) {
      return RequestFate::answer;
    }
    rig.kill_daemon();
    fs::remove_all(rig.job_dir());
    const auto restored = dwellog({"restore", backup.string(), rig.job_dir().string()});
    INFO(restored.out);
    REQUIRE(restored.status == 0);
    rig.start_daemon_now();
    return RequestFate::drop;
  });
  rig.start_daemon();
  const auto status = rig.run_to_end();
  INFO(rig.daemon_log());
  REQUIRE(status == 0);
}

bool log_is_sound(SiteRig& rig) {
  auto log =
      logger::store::EvidenceLog::open(logger::app::JobFolder{rig.job_dir()}.store_file().string());
  REQUIRE(log);
  const auto report = log.value().check();
  REQUIRE(report);
  return report.value().sound();
}

}  // namespace

TEST_CASE("AJobRestoredAtOnceMissesNothing") {
  SiteRig undisturbed(quarter_day());
  undisturbed.start_daemon();
  REQUIRE(undisturbed.run_to_end() == 0);
  const ScratchFolder scratch;
  SiteRig restored(quarter_day());
  lose_and_restore(restored, scratch.path() / "backup.tar", 60, 60);
  auto expected = undisturbed.open();
  auto actual = restored.open();
  REQUIRE(stored_records(expected).size() > 300);
  CHECK(stored_records(actual) == stored_records(expected));
  CHECK(actual.simulated);
  CHECK(log_is_sound(restored));
}

TEST_CASE("WhatTheBoxReleasedAfterTheBackupIsNotedAsMissing") {
  SiteRig undisturbed(quarter_day());
  undisturbed.start_daemon();
  REQUIRE(undisturbed.run_to_end() == 0);
  const ScratchFolder scratch;
  SiteRig restored(quarter_day());
  lose_and_restore(restored, scratch.path() / "backup.tar", 60, 160);
  auto expected = undisturbed.open();
  auto actual = restored.open();
  const auto all = stored_records(expected);
  const auto kept = stored_records(actual);
  const auto gaps = actual.store->gaps();
  REQUIRE(gaps);
  std::int64_t missing = 0;
  for (const auto& gap : gaps.value()) {
    missing += gap.last_sequence - gap.first_sequence + 1;
  }
  CHECK(missing > 10);
  CHECK(static_cast<std::int64_t>(kept.size()) + missing == static_cast<std::int64_t>(all.size()));
  CHECK(kept.back() == all.back());
  CHECK(log_is_sound(restored));
}
