// `dwellog backup`: one commit of a store that is being written, everything of the folder, nothing
// of what was asked to stay out, and no half file.
#include <signal.h>
#include <sys/mount.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <thread>

#include "tests/service/backup_job.hpp"

using namespace backup_tests;
using logger::store::ErrorCode;
using store_tests::must;

namespace {

std::vector<std::string> paths_in(const BackupManifest& manifest) {
  std::vector<std::string> paths;
  for (const BackupPart& part : manifest.parts) {
    paths.push_back(part.path);
  }
  return paths;
}

std::vector<std::string> rows_of(const std::string& store_file, const std::string& until) {
  store_tests::PlainSqlite plain{store_file};
  return {plain.text("SELECT count(*) FROM records WHERE " + until),
          plain.text("SELECT sum(sequence) || ' ' || sum(ticks_ms) FROM records WHERE " + until),
          plain.text("SELECT group_concat(id || kind || content_json) FROM notes")};
}

bool nothing_unfinished_in(const fs::path& folder) {
  for (const auto& entry : fs::directory_iterator(folder)) {
    if (entry.path().extension() == ".part") {
      return false;
    }
  }
  return true;
}

}  // namespace

TEST_CASE("BackupWhileAWriterCommitsIsOneCommitThatTheLogContinues") {
  const BackedUpJob job;
  std::atomic<bool> stop{false};
  std::atomic<int> rounds{0};
  std::thread writer([&] {
    const auto store = store_tests::open_marked(job.store());
    for (std::int64_t round = 4; !stop; ++round) {
      store_tests::add_round(*store, round);
      ++rounds;
    }
  });
  const auto made = write_backup(job.order());
  const int seen = rounds;
  while (rounds < seen + 3) {
    std::this_thread::yield();
  }
  stop = true;
  writer.join();
  REQUIRE(made);
  const auto restored = must(restore_backup(job.file(), job.restored()));
  CHECK(restored.manifest == made.value().manifest);
  CHECK(restored.manifest_sha256 == made.value().manifest_sha256);
  const std::string copy = (job.restored() / "readings.sqlite").string();
  const auto head = store_tests::head_of(copy);
  CHECK(head == made.value().manifest.log);
  auto live = must(logger::store::EvidenceLog::open(job.store()));
  CHECK(must(live.head()).size > head.size);
  CHECK(must(live.head_at(head.size)) == head);
}

TEST_CASE("RestoredRowsAreThoseThatWereBackedUp") {
  const BackedUpJob job;
  const auto before = rows_of(job.store(), "1");
  REQUIRE(before.front() == "80");
  job.back_up();
  store_tests::add_rounds(job.store(), 4, 5);
  must(restore_backup(job.file(), job.restored()));
  CHECK(rows_of((job.restored() / "readings.sqlite").string(), "1") == before);
  CHECK(rows_of(job.store(), "1") != before);
}

TEST_CASE("EverythingOfTheFolderIsTakenButSecretsAndForeignFiles") {
  const BackedUpJob job;
  write(job.dir() / "photos" / "0a.jpg", "picture");
  write(job.dir() / "keys" / "handover-1.json", "{}");
  write(job.dir() / "keys" / "certificate-key-1.secret", "secret");
  write(job.dir() / "certificates" / "1.json", "{}");
  write(job.dir() / "certificates" / "2.pdf.part", "half");
  write(job.dir() / "authority.pem", "PEM");
  write(job.dir() / "shopping list.txt", "milk");
  write(job.dir() / "photos" / "deeper" / "x.jpg", "picture");
  write(job.dir() / "last-backup.json", "{}");
  fs::create_symlink("/etc/passwd", job.dir() / "photos" / "link.jpg");
  const BackupMade made = job.back_up();
  CHECK(paths_in(made.manifest) == std::vector<std::string>{"authority.pem", "certificate-key.pub",
                                                            "certificates/1.json", "job.json",
                                                            "keys/handover-1.json", "photos/0a.jpg",
                                                            "readings.sqlite"});
  CHECK(made.left_out ==
        std::vector<std::string>{"photos/deeper", "photos/link.jpg", "shopping list.txt"});
  must(restore_backup(job.file(), job.restored()));
  CHECK(bytes_of(job.restored() / "photos" / "0a.jpg") == "picture");
  CHECK(bytes_of(job.restored() / "job.json") == bytes_of(job.dir() / "job.json"));
}

TEST_CASE("TheSecretKeyComesOnlyWhenAskedForAndIsItsOwnersAlone") {
  const BackedUpJob job;
  job.back_up(true);
  CHECK(mode_of(job.file()) == 0600);
  must(restore_backup(job.file(), job.restored()));
  CHECK(bytes_of(job.restored() / "certificate-key.secret") ==
        bytes_of(job.dir() / "certificate-key.secret"));
  CHECK(mode_of(job.restored() / "certificate-key.secret") == 0600);
}

TEST_CASE("AFileThatIsThereStaysAsItIs") {
  const BackedUpJob job;
  write(job.file(), "older backup");
  const auto made = write_backup(job.order());
  REQUIRE_FALSE(made);
  CHECK(made.error().code == ErrorCode::invalid_input);
  CHECK(bytes_of(job.file()) == "older backup");
  CHECK(nothing_unfinished_in(job.scratch()));
}

TEST_CASE("AFolderThatIsNotThereIsSaid") {
  const BackedUpJob job;
  BackupOrder order = job.order();
  order.file = job.scratch() / "missing" / "backup.tar";
  CHECK(store_tests::code_of(write_backup(order)) == ErrorCode::not_found);
  order = job.order();
  order.job_dir = job.scratch() / "no-job";
  CHECK(store_tests::code_of(write_backup(order)) == ErrorCode::not_found);
  CHECK_FALSE(fs::exists(job.file()));
}

TEST_CASE("AFileThatMayNotGrowLeavesNothingUnderAnyName") {
  const BackedUpJob job;
  write(job.dir() / "photos" / "0a.jpg", std::string(200'000, 'x'));
  const std::uint64_t store_bytes = fs::file_size(job.store()) + 64 * 1024;
  // Once in the copy of the store, once in the archive after it.
  for (const rlim_t limit : {rlim_t{8192}, rlim_t{store_bytes}}) {
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      ::signal(SIGXFSZ, SIG_IGN);
      const rlimit files{limit, limit};
      ::setrlimit(RLIMIT_FSIZE, &files);
      const auto made = write_backup(job.order());
      ::_exit(made || made.error().os_errno != EFBIG ? 1 : 0);
    }
    int status = -1;
    REQUIRE(::waitpid(child, &status, 0) == child);
    INFO("files of at most " << limit << " bytes");
    CHECK(WEXITSTATUS(status) == 0);
    CHECK_FALSE(fs::exists(job.file()));
    CHECK(nothing_unfinished_in(job.scratch()));
  }
}

TEST_CASE("AFullDiskIsSaidAndLeavesNothingUnderAnyName") {
  const BackedUpJob job;
  const fs::path disk = job.scratch() / "disk";
  fs::create_directory(disk);
  write(job.dir() / "photos" / "0a.jpg", std::string(200'000, 'x'));
  const std::string size = "size=" + std::to_string(fs::file_size(job.store()) + 64 * 1024);
  if (::mount("dwellog-test", disk.c_str(), "tmpfs", 0, size.c_str()) != 0) {
    WARN("no small disk may be mounted here: a full one was not tried");
    return;
  }
  BackupOrder order = job.order();
  order.file = disk / "backup.tar";
  const auto made = write_backup(order);
  const bool empty = fs::is_empty(disk);
  const auto restored = [&] {
    write(job.dir() / "photos" / "0b.jpg", std::string(200'000, 'y'));
    job.back_up();
    return restore_backup(job.file(), disk / "job");
  }();
  const bool empty_after_restore = fs::is_empty(disk);
  REQUIRE(::umount(disk.c_str()) == 0);
  REQUIRE_FALSE(made);
  CHECK(made.error().code == ErrorCode::no_space);
  CHECK(empty);
  REQUIRE_FALSE(restored);
  CHECK(restored.error().code == ErrorCode::no_space);
  CHECK_THAT(restored.error().context, Catch::Contains("bytes are needed"));
  CHECK(empty_after_restore);
}

TEST_CASE("ANameThatFitsIntoNoArchiveIsSaid") {
  const BackedUpJob job;
  write(job.dir() / "photos" / "\xff.jpg", "picture");
  const auto made = write_backup(job.order());
  REQUIRE_FALSE(made);
  CHECK(made.error().code == ErrorCode::unsupported);
  CHECK(nothing_unfinished_in(job.scratch()));
}
