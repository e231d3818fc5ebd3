// What the daemon does about checkpoints: at set hours, over restarts, offline and online again.
#include "logger/app/checkpoints/checkpoint_duty.hpp"

#include "tests/checkpoints/signed_job.hpp"

using namespace checkpoint_tests;
using analysis::base::Micros;
using analysis::base::UtcMicros;
using Catch::Contains;

namespace {

constexpr UtcMicros kBegin = store_tests::kStart;
constexpr Micros hours(int count) { return std::chrono::hours(count); }

// A daemon that was just started.
CheckpointDuty started(const SignedJob& job, const std::optional<JobCheckpoints>& settings,
                       UtcMicros now, bool simulated = false) {
  CheckpointDuty duty(job.folder(), settings, simulated);
  const auto store =
      store_tests::must(logger::store::open_sqlite_store(job.store(), {.read_only = true}));
  store_tests::must(duty.load(*store, now));
  return duty;
}

DutyReport turn(CheckpointDuty& duty, UtcMicros now) { return duty.take(duty.work(now, {}), now); }

void keep(const SignedJob& job, const DutyReport& report) {
  const auto store = store_tests::must(logger::store::open_sqlite_store(job.store(), {}));
  store_tests::must(store->commit({.events = report.events}));
}

std::string all(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) {
    text += line + '\n';
  }
  return text;
}

}  // namespace

TEST_CASE("A checkpoint a day, counted from the newest file over restarts") {
  const SignedJob job;
  CheckpointDuty duty = started(job, std::nullopt, kBegin);
  REQUIRE(duty.is_due(kBegin));
  CHECK_THAT(all(turn(duty, kBegin).lines), Contains("signed"));
  CHECK(job.kept().items.size() == 1);
  CHECK(duty.due_at() == kBegin + hours(24));
  job.add_rounds(3, 4);

  CheckpointDuty restarted = started(job, std::nullopt, kBegin + hours(5));
  CHECK_FALSE(restarted.is_due(kBegin + hours(5)));
  CHECK(restarted.due_at() == kBegin + hours(24));
  CHECK_THAT(all(turn(restarted, kBegin + hours(24)).lines), Contains("signed"));
  CHECK(job.kept().items.size() == 2);

  // Nothing was recorded since: nothing to sign, and no second try before the next day.
  const DutyReport quiet = turn(restarted, kBegin + hours(48));
  CHECK((quiet.lines.empty() && quiet.warnings.empty() && quiet.events.empty()));
  CHECK(job.kept().items.size() == 2);
  CHECK(restarted.due_at() == kBegin + hours(72));
}

TEST_CASE("A clock that was set back does not put the next checkpoint off") {
  const SignedJob job;
  CheckpointDuty duty = started(job, std::nullopt, kBegin + hours(9000));
  turn(duty, kBegin + hours(9000));
  CHECK(started(job, std::nullopt, kBegin).due_at() == kBegin + hours(24));
}

TEST_CASE("Under simulated time nothing is signed unless job.json says so") {
  const SignedJob job;
  CHECK_FALSE(started(job, std::nullopt, kBegin, true).due_at());
  CHECK(started(job, JobCheckpoints{}, kBegin, true).due_at() == kBegin);
}

TEST_CASE("A key with a passphrase signs nothing by itself, and that is said once") {
  const SignedJob job;
  std::ostringstream out, err;
  timestamp_tests::write_bytes(job.file("passphrase"), "open sesame\n");
  fs::permissions(job.file("passphrase"), fs::perms::owner_read);
  KeysOptions protect;
  protect.job_dir = job.folder().root;
  protect.action = "protect";
  protect.passphrase_file = job.file("passphrase");
  REQUIRE(keys(protect, {out, err}) == kExitDone);
  CheckpointDuty duty = started(job, std::nullopt, kBegin);
  CHECK_THAT(all(turn(duty, kBegin).lines), Contains("the secret key has a passphrase"));
  CHECK(turn(duty, kBegin + hours(24)).lines.empty());
  CHECK(job.kept().items.empty());
  CHECK_THAT(job.inspect().out, Contains("dwellog run signs none by itself: the secret key has a "
                                         "passphrase"));
  CHECK(job.checkpoint({}, job.file("passphrase")).status == kExitDone);
  CHECK(job.kept().items.size() == 1);
}

TEST_CASE("A log that was changed is not signed, and that is written down once") {
  const SignedJob job;
  CheckpointDuty duty = started(job, std::nullopt, kBegin);
  turn(duty, kBegin);
  for (const char* end : {"", "-wal", "-shm"}) {
    fs::remove(job.store() + end);
  }
  job.add_rounds(7, 12);
  const DutyReport refused = turn(duty, kBegin + hours(24));
  CHECK_THAT(all(refused.warnings), Contains("they were changed since"));
  REQUIRE(refused.events.size() == 1);
  CHECK(refused.events.front().kind == "checkpoint_refused");
  const DutyReport again = turn(duty, kBegin + hours(48));
  CHECK((again.warnings.empty() && again.events.empty()));
  CHECK(job.kept().items.size() == 1);
}

TEST_CASE(
    "Offline, checkpoints wait with back-off, and are stamped when there is a network again") {
  const SignedJob job;
  const JobCheckpoints settings = job.settings("/good");
  CheckpointDuty duty = started(job, settings, kBegin);
  UtcMicros now = kBegin;
  {
    const Offline offline;
    const DutyReport first = turn(duty, now);
    CHECK_THAT(all(first.lines), Contains("signed"));
    CHECK_THAT(all(first.warnings),
               Contains("1 checkpoint(s) wait for one") && Contains("HTTP status 503"));
    REQUIRE(first.events.size() == 1);
    CHECK(first.events.front().kind == "time_stamps_failing");
    keep(job, first);
    // Each wait longer than the one before, up to an hour; said once.
    Micros before{0};
    for (int attempt = 0; attempt < 12; ++attempt) {
      REQUIRE(duty.due_at());
      const Micros wait = *duty.due_at() - now;
      CHECK(wait >= before);
      CHECK(wait <= hours(1));
      before = wait;
      now = *duty.due_at();
      const DutyReport more = turn(duty, now);
      CHECK((more.warnings.empty() && more.events.empty()));
    }
    CHECK(before == hours(1));
    // Nor once more by a daemon that was started anew.
    CheckpointDuty restarted = started(job, settings, now);
    REQUIRE(restarted.is_due(now));
    CHECK(turn(restarted, now).events.empty());
    job.add_rounds(3, 4);
    now = kBegin + hours(24);
    CHECK_THAT(all(turn(duty, now).lines), Contains("signed"));
    CHECK(job.kept().queued() == 2);
  }
  now = *duty.due_at();
  const DutyReport online = turn(duty, now);
  CHECK_THAT(all(online.lines), Contains("time stamps work again"));
  REQUIRE(online.events.size() == 1);
  CHECK(online.events.front().kind == "time_stamps_working");
  CHECK(job.kept(settings).anchored() == 2);
  CHECK(duty.due_at() == kBegin + hours(48));
}

TEST_CASE("A long queue is stamped in turns, the newest first") {
  const SignedJob job;
  for (int day = 0; day < 7; ++day) {
    job.add_rounds(3 + day, 4 + day);
    REQUIRE(job.checkpoint().status == kExitDone);
  }
  const JobCheckpoints settings = job.settings("/good");
  CheckpointDuty duty = started(job, settings, kBegin);
  REQUIRE(duty.is_due(kBegin));
  CHECK(turn(duty, kBegin).lines.size() == 5);
  CHECK(job.kept().queued() == 2);
  CHECK(job.kept().items.back().token);
  CHECK_FALSE(job.kept().items.front().token);
  REQUIRE(duty.due_at());
  CHECK(*duty.due_at() <= kBegin + Micros{1'000'000});
  turn(duty, *duty.due_at());
  CHECK(job.kept().queued() == 0);
  CHECK(*duty.due_at() > kBegin + hours(1));
}

TEST_CASE("A request that was ended with the daemon is no failure of the authority") {
  const SignedJob job;
  CheckpointDuty duty = started(job, job.settings("/slow"), kBegin);
  std::stop_source stop;
  stop.request_stop();
  const DutyReport report = duty.take(duty.work(kBegin, stop.get_token()), kBegin);
  CHECK((report.warnings.empty() && report.events.empty()));
  CHECK(job.kept().queued() == 1);
}
