#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <csignal>
#include <random>

#include "logger/store/store_check.hpp"
#include "tests/store/store_folder.hpp"

using namespace store_tests;

namespace {

constexpr int kKills = 20;
constexpr std::int64_t kRecordsPerBox = 40;
const std::vector<std::string> kBoxes{"box-a", "box-b", "box-c"};

CommitBatch numbered_batch(std::int64_t number) {
  CommitBatch batch;
  const std::int64_t first = number * kRecordsPerBox + 1;
  for (const std::string& box : kBoxes) {
    batch.boxes.push_back({.box_id = box, .records = samples(first, first + kRecordsPerBox - 1)});
  }
  batch.accounts.push_back({"living", "rules", std::to_string(number)});
  batch.events.push_back({0, kStart, "boot", std::to_string(number), "{}"});
  return batch;
}

// The child: commits batch after batch from `number` on, telling each through the pipe afterwards.
// It never returns and touches nothing of the test framework.
[[noreturn]] void commit_for_ever(const std::string& path, std::int64_t number, int told) {
  const auto store = open_sqlite_store(path, {});
  if (!store || !store.value()->begin_session()) {
    _exit(1);
  }
  for (;; ++number) {
    if (!store.value()->commit(numbered_batch(number)) ||
        write(told, &number, sizeof number) != sizeof number) {
      _exit(1);
    }
  }
}

struct Run {
  std::int64_t told = -1;  // the last batch the child said was committed
  bool killed = false;
};

// Lets a child commit `batches` batches, then a random bit longer, and kills it.
Run run_and_kill(const std::string& path, std::int64_t first, int batches, unsigned spin) {
  int ends[2] = {-1, -1};
  REQUIRE(pipe(ends) == 0);
  const pid_t child = fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    close(ends[0]);
    commit_for_ever(path, first, ends[1]);
  }
  close(ends[1]);
  Run run;
  std::int64_t number = 0;
  for (int heard = 0; heard < batches && read(ends[0], &number, sizeof number) > 0; ++heard) {
    run.told = number;
  }
  for (std::atomic<unsigned> turn{0}; turn < spin; ++turn) {
  }
  REQUIRE(kill(child, SIGKILL) == 0);
  int status = 0;
  REQUIRE(waitpid(child, &status, 0) == child);
  while (read(ends[0], &number, sizeof number) > 0) {
    run.told = number;  // told before it died
  }
  close(ends[0]);
  run.killed = WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL;
  return run;
}

}  // namespace

TEST_CASE("AKilledWriterLeavesWholeCommitsOnly") {
  const unsigned seed = 23;
  INFO("seed " << seed);
  std::mt19937 random{seed};
  const StoreFolder folder;
  { open_marked(folder.file()); }
  std::int64_t next = 0;
  int told_before = 0;
  for (int round = 0; round < kKills; ++round) {
    const Run run = run_and_kill(folder.file(), next, static_cast<int>(random() % 6) + 1,
                                 static_cast<unsigned>(random() % 2'000'000));
    REQUIRE(run.killed);
    const auto store = must(open_sqlite_store(folder.file(), {}));
    const std::vector<Record> first_box = all_records(*store, kBoxes[0]);
    const auto stored = static_cast<std::int64_t>(first_box.size()) / kRecordsPerBox;
    // What was told is there; at most the batch that was never told came through beside it.
    REQUIRE((stored == run.told + 1 || stored == run.told + 2));
    told_before += stored == run.told + 1 ? 1 : 0;
    for (const std::string& box : kBoxes) {
      REQUIRE(all_records(*store, box) == samples(1, stored * kRecordsPerBox));
    }
    REQUIRE(must(store->events(0)).size() == static_cast<std::size_t>(stored));
    REQUIRE(must(store->accounts()).at(0).state_json == std::to_string(stored - 1));
    REQUIRE(must(store->begin_session()));  // the killed session asks for a check
    must(store->end_session(true));
    must(full_check(folder.file()));
    next = stored;
  }
  WARN(told_before << " of " << kKills
                   << " kills left no trace of the batch under way, the others "
                      "came between its commit and its telling");
  CHECK(next >= kKills);
}
