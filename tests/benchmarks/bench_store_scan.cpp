// Builds a store of 10 million readings (8 boxes of 6 channels) and times one full scan of it
// through ReadingStore::visit_records, the yardstick for `dwellog status`.
#include <algorithm>
#include <limits>

#include "logger/store/store_check.hpp"
#include "tests/benchmarks/bench_folder.hpp"
#include "tests/benchmarks/big_store.hpp"

namespace {

using namespace benchmarks;
using logger::store::RecordId;

constexpr std::size_t kBoxes = 8;
constexpr std::int64_t kRecordsPerBox = 208'334;  // 1.67 million records of 6 channels
constexpr int kScans = 5;

std::int64_t scan(logger::store::ReadingStore& store, const std::vector<std::string>& ids) {
  std::int64_t readings = 0;
  std::int64_t sum = 0;
  for (const std::string& id : ids) {
    required(store.visit_records(id, RecordId{0, 0},
                                 RecordId{std::numeric_limits<std::uint32_t>::max(),
                                          std::numeric_limits<std::int64_t>::max()},
                                 [&](const Record& record) {
                                   readings += kFittedChannels;
                                   sum += record.raw_counts[0];
                                   return true;
                                 }));
  }
  return sum != 0 ? readings : 0;
}

}  // namespace

int main(int argc, char** argv) {
  const BenchFolder folder{argc, argv};
  const std::string path = folder.file("big.db");
  const std::vector<std::string> ids = numbered_boxes(kBoxes);
  const Stopwatch building;
  required(make_big_store(path, ids, kRecordsPerBox));
  std::printf("built in %.2f s, %.1f MiB\n", building.seconds(),
              static_cast<double>(std::filesystem::file_size(path)) / 1048576.0);

  const auto store = required(logger::store::open_sqlite_store(path, {.read_only = true}));
  std::vector<double> seconds;
  std::int64_t readings = 0;
  for (int round = 0; round < kScans; ++round) {
    const Stopwatch watch;
    readings = scan(*store, ids);
    seconds.push_back(watch.seconds());
  }
  std::sort(seconds.begin(), seconds.end());
  std::printf("full scan of %lld readings: median %.3f s of %d\n", static_cast<long long>(readings),
              seconds[kScans / 2], kScans);

  const Stopwatch points;
  required(store->find_by_ticks(ids[3], 1, kSampleIntervalMs * 100'000));
  required(store->boots(ids[3]));
  required(store->last_record(ids[3]));
  std::printf("find_by_ticks, boots and last_record together: %.3f ms\n", points.seconds() * 1e3);

  const Stopwatch checking;
  required(logger::store::quick_check(path));
  std::printf("quick check: %.2f s\n", checking.seconds());
  std::printf("largest resident set: %lld KiB\n",
              static_cast<long long>(process_counter("/proc/self/status", "VmHWM:")));
  return 0;
}
