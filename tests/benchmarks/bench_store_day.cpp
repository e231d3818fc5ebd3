// Bytes written to disk by one day of the store's own work: 8 boxes of 6 channels at one-minute
// samples, committed every five minutes with clock exchanges, accounts, alert states and seen_at.
#include "tests/benchmarks/bench_folder.hpp"
#include "tests/benchmarks/big_store.hpp"

namespace {

using namespace benchmarks;
using analysis::base::Micros;
using logger::store::CommitBatch;

constexpr std::size_t kBoxes = 8;
constexpr std::int64_t kCommitsPerDay = 288;
constexpr std::int64_t kRecordsPerCommit = 5;
constexpr std::int64_t kWarmUpDays = 20;  // a store in service, not an empty one
constexpr std::size_t kAccountBytes = 1000;
constexpr std::size_t kAlertStateBytes = 200;
constexpr double kBudgetMib = 50.0;

CommitBatch batch_at(const std::vector<std::string>& ids, std::int64_t commit) {
  CommitBatch batch;
  const std::string number = std::to_string(commit);
  for (std::size_t box = 0; box < ids.size(); ++box) {
    batch.boxes.push_back(
        sample_batch(ids[box], box, commit * kRecordsPerCommit + 1, kRecordsPerCommit));
    batch.accounts.push_back({"room-" + ids[box], "rules", number});
    batch.accounts.back().state_json.resize(kAccountBytes, 'a');
    batch.alert_states.push_back({"silent/" + ids[box], number});
    batch.alert_states.back().state_json.resize(kAlertStateBytes, 's');
  }
  batch.seen_at = kSiteStart + Micros{commit * 300'000'000};
  return batch;
}

std::int64_t bytes_written() { return process_counter("/proc/self/io", "write_bytes:"); }

}  // namespace

int main(int argc, char** argv) {
  const BenchFolder folder{argc, argv};
  const std::string path = folder.file("day.db");
  const std::vector<std::string> ids = numbered_boxes(kBoxes);
  const auto store = required(logger::store::open_sqlite_store(path, {.create = true}));
  required(store->mark_simulated(true));
  std::int64_t commit = 0;
  for (; commit < kWarmUpDays * kCommitsPerDay; ++commit) {
    required(store->commit(batch_at(ids, commit)));
  }
  const std::int64_t before = bytes_written();
  const Stopwatch watch;
  for (; commit < (kWarmUpDays + 1) * kCommitsPerDay; ++commit) {
    required(store->commit(batch_at(ids, commit)));
  }
  const double mib = static_cast<double>(bytes_written() - before) / 1048576.0;
  std::printf("a day of %lld commits: %.1f MiB written (budget %.0f MiB for the daemon), %.2f s\n",
              static_cast<long long>(kCommitsPerDay), mib, kBudgetMib, watch.seconds());
  std::printf("file after %lld days: %.1f MiB, log %.1f MiB; largest resident set %lld KiB\n",
              static_cast<long long>(kWarmUpDays + 1),
              static_cast<double>(std::filesystem::file_size(path)) / 1048576.0,
              static_cast<double>(std::filesystem::file_size(path + "-wal")) / 1048576.0,
              static_cast<long long>(process_counter("/proc/self/status", "VmHWM:")));
  return mib < kBudgetMib ? 0 : 2;
}
