// What `dwellog inspect` says of clock, disk, ports, permissions and backup.
#include "logger/app/commands/inspect/surroundings.hpp"

#include <fcntl.h>
#include <stdlib.h>
#include <unistd.h>

#include <cerrno>

#include "tests/service/backup_job.hpp"

using namespace backup_tests;
using Catch::Matchers::Contains;
using store_tests::must;

namespace {

constexpr UtcMicros kNow{1'772'600'000'000'000};  // 2026-03-04T04:53:20Z
constexpr Micros kDay{std::int64_t{86400} * 1'000'000};

}  // namespace

TEST_CASE("AClockBeforeTheLastReadingIsWrong") {
  CHECK(judge_clock({kNow, true, Micros{20'000}, kNow - kDay}).judgement == Judgement::good);
  const auto behind = judge_clock({kNow, true, Micros{20'000}, kNow + kDay});
  CHECK(behind.judgement == Judgement::wrong);
  CHECK_THAT(behind.text, Contains("2026-03-05 04:53 UTC") && Contains("set the clock"));
}

TEST_CASE("AClockThatNobodySetsIsWorthALook") {
  CHECK(judge_clock({kNow, false, Micros{0}, {}}).judgement == Judgement::worth_a_look);
  CHECK(judge_clock({kNow, true, Micros{16'000'000}, {}}).judgement == Judgement::worth_a_look);
}

TEST_CASE("AMonthIsReckonedFromTheStoresOwnRecords") {
  // 8 boxes at a minute: 345,600 records in 30 days.
  DiskState disk{100'000'000, 5'000'000, 100'000, 345'600.0};
  const auto roomy = judge_disk(disk);
  CHECK(roomy.judgement == Judgement::good);
  CHECK_THAT(roomy.text, Contains("100 MB free") && Contains("takes 18 MB") &&
                             Contains("50 bytes a record, measured here"));
  disk.free_bytes = 17'000'000;
  CHECK(judge_disk(disk).judgement == Judgement::wrong);
  disk.records = 999;
  CHECK_THAT(judge_disk(disk).text, Contains("53 bytes a record, as measured elsewhere"));
}

TEST_CASE("APortSaysWhatToDo") {
  PortState port{"/dev/ttyX", {"box-1", "box-2"}, true, false, true, 0};
  CHECK(judge_port(port).judgement == Judgement::good);
  CHECK_THAT(judge_port(port).text, Contains("box-1, box-2"));
  port.open_errno = EACCES;
  CHECK_THAT(judge_port(port).text, Contains("dialout"));
  port.open_errno = EBUSY;
  CHECK_THAT(judge_port(port).text, Contains("another program"));
  port.open_errno = EIO;
  CHECK(judge_port(port).judgement == Judgement::worth_a_look);
  port = {"/dev/ttyX", {"box-1"}, true, false, false, 0};
  CHECK_THAT(judge_port(port).text, Contains("no serial device"));
  port.held_by_logger = true;
  CHECK(judge_port(port).judgement == Judgement::good);
  port.is_there = false;
  CHECK_THAT(judge_port(port).text, Contains("plug"));
}

TEST_CASE("PortsAreOpenedOnceForAllTheirBoxesAndNotUnderARunningLogger") {
  const BackedUpJob job;
  const int terminal = ::posix_openpt(O_RDWR | O_NOCTTY);
  REQUIRE((terminal >= 0 && ::grantpt(terminal) == 0 && ::unlockpt(terminal) == 0));
  auto opened = must(open_job(job.dir(), false));
  opened.job.boxes.resize(1);
  opened.job.boxes[0].port = ::ptsname(terminal);
  opened.job.boxes.push_back(opened.job.boxes[0]);
  opened.job.boxes.push_back(opened.job.boxes[0]);
  opened.job.boxes[2].port = job.file().string();
  write(job.file(), "no device");
  const auto ports = read_ports(opened);
  REQUIRE(ports.size() == 2);
  CHECK(ports[0].boxes.size() == 2);
  CHECK((ports[0].is_there && ports[0].is_terminal && ports[0].open_errno == 0));
  CHECK((ports[1].is_there && !ports[1].is_terminal));
  const FolderLock lock(opened.folder.run_lock());
  CHECK(read_ports(opened)[0].held_by_logger);
  ::close(terminal);
}

TEST_CASE("WhatEverybodyMayWriteIsWrong") {
  const BackedUpJob job;
  const JobFolder folder{job.dir()};
  CHECK(inspect_permissions(folder).empty());
  fs::permissions(folder.store_file(), fs::perms::others_write, fs::perm_options::add);
  const auto lines = inspect_permissions(folder);
  REQUIRE(lines.size() == 1);
  CHECK(lines[0].judgement == Judgement::wrong);
  CHECK_THAT(lines[0].text, Contains("readings.sqlite") && Contains("chmod"));
}

TEST_CASE("ABackupThatIsOldOrMissingIsWorthALook") {
  const BackedUpJob job;
  CHECK(judge_backup(last_backup_of(job.dir()), kNow, "job").judgement == Judgement::worth_a_look);
  must(note_last_backup(job.dir(), {kNow, "/mnt/a \"b\".tar"}));
  const auto noted = last_backup_of(job.dir());
  REQUIRE(noted);
  CHECK(noted->file == "/mnt/a \"b\".tar");
  CHECK(judge_backup(noted, kNow + kDay, "job").judgement == Judgement::good);
  CHECK(judge_backup(noted, kNow + 8 * kDay, "job").judgement == Judgement::worth_a_look);
  write(job.dir() / "last-backup.json", "{\"at\":5,\"file\":[]}");
  CHECK_FALSE(last_backup_of(job.dir()));
}
