// `dwellog status` on a store of 10 million readings (8 boxes of 6 channels, one room each) against
// one full scan of it, in the same run. Usage: bench_status [FOLDER].
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <limits>

#include "logger/app/room/room_tracker.hpp"
#include "logger/app/status/status_report.hpp"
#include "tests/benchmarks/bench_folder.hpp"
#include "tests/benchmarks/big_store.hpp"

namespace {

using namespace benchmarks;
using logger::store::RecordId;

constexpr std::size_t kBoxes = 8;
constexpr std::int64_t kRecordsPerBox = 208'334;
constexpr int kRounds = 9;

void write_job(const std::filesystem::path& job_dir, const std::vector<std::string>& boxes) {
  std::filesystem::create_directories(job_dir);
  std::ofstream out(job_dir / "job.json");
  out << R"j({"format": "dwellog-job/1", "job": {"name": "Benchmark (invented)",
    "site_address": "none", "installer": "none", "client": ""}, "rooms": [)j";
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    out << (i == 0 ? "" : ",") << R"({"id": "room-)" << i
        << R"(", "name": "Room", "floor_area_m2": 20, "floor_product": "none"})";
  }
  out << R"j(], "boxes": [)j";
  static constexpr const char* kRoles[] = {
      "room_air_temperature",     "room_air_rh", "stack_core_temperature",
      "slab_surface_temperature", "slab_rh",     "supply_voltage"};
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    out << (i == 0 ? "" : ",") << R"({"id": ")" << boxes[i] << R"(", "serial": )" << 1001 + i
        << R"(, "port": "/dev/null", "unit": )" << 1 + i << R"(, "channels": [)";
    for (std::size_t c = 0; c < std::size(kRoles); ++c) {
      out << (c == 0 ? "" : ",") << R"({"index": )" << c << R"(, "id": "c)" << i << '-' << c
          << R"(", "room": "room-)" << i << R"(", "role": ")" << kRoles[c] << R"("})";
    }
    out << "]}";
  }
  out << "]}";
}

// As the daemon would have left it: the accounts stored beside the records.
void store_accounts(const std::filesystem::path& job_dir) {
  auto opened = required(logger::app::open_job(job_dir, true));
  logger::store::Note delivery;
  delivery.at = kSiteStart;
  delivery.noted_at = kSiteStart;
  delivery.kind = "delivery";
  delivery.by = "benchmark";
  delivery.content_json = "{}";
  required(opened.store->append_note(delivery));
  const auto records = required(logger::app::job_records_from(*opened.store));
  logger::store::CommitBatch batch;
  const Stopwatch watch;
  for (const auto& room : opened.job.rooms) {
    batch.accounts.push_back(required(logger::app::RoomTracker::rebuild(
                                          *opened.store, opened.job, room, records, std::nullopt))
                                 .account());
  }
  std::printf("replay of every reading: %.2f s\n", watch.seconds());
  batch.seen_at = kSiteStart + logger::app::Micros{kRecordsPerBox * 60'000'000};
  required(opened.store->commit(batch));
}

double scan_seconds(const std::filesystem::path& job_dir, const std::vector<std::string>& boxes) {
  const auto opened = required(logger::app::open_job(job_dir, false));
  std::int64_t sum = 0;
  const Stopwatch watch;
  for (const std::string& id : boxes) {
    required(opened.store->visit_records(id, RecordId{0, 0},
                                         RecordId{std::numeric_limits<std::uint32_t>::max(),
                                                  std::numeric_limits<std::int64_t>::max()},
                                         [&](const Record& record) {
                                           sum += record.raw_counts[0];
                                           return true;
                                         }));
  }
  return sum != 0 ? watch.seconds() : 0.0;
}

// Job file, store and report, as the command does it, in this process.
double status_seconds(const std::filesystem::path& job_dir) {
  const Stopwatch watch;
  auto opened = required(logger::app::open_job(job_dir, false));
  const auto report = required(logger::app::status_report_from(opened, std::nullopt));
  const std::string text = logger::app::text_from_status(report, false);
  return text.empty() ? 0.0 : watch.seconds();
}

// The whole program, with its start.
double program_seconds(const std::filesystem::path& job_dir) {
  const Stopwatch watch;
  const pid_t child = ::fork();
  if (child == 0) {
    if (std::freopen("/dev/null", "w", stdout) == nullptr) {
      ::_exit(4);
    }
    ::execl(DWELLOG_PROGRAM, "dwellog", "status", job_dir.c_str(), nullptr);
    ::_exit(4);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  return watch.seconds();
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

}  // namespace

int main(int argc, char** argv) {
  const BenchFolder folder{argc, argv};
  const std::filesystem::path job_dir = folder.file("job");
  const auto boxes = numbered_boxes(kBoxes);
  write_job(job_dir, boxes);
  required(make_big_store((job_dir / "readings.sqlite").string(), boxes, kRecordsPerBox));
  store_accounts(job_dir);
  std::vector<double> scans;
  std::vector<double> statuses;
  std::vector<double> programs;
  for (int round = 0; round < kRounds; ++round) {
    scans.push_back(scan_seconds(job_dir, boxes));
    statuses.push_back(status_seconds(job_dir));
    programs.push_back(program_seconds(job_dir));
  }
  const double scan = median(scans);
  std::printf(
      "full scan %.1f ms; status of 8 rooms %.2f ms = 1/%.0f; whole program %.2f ms = 1/%.0f "
      "(target under 1/100)\n",
      scan * 1e3, median(statuses) * 1e3, scan / median(statuses), median(programs) * 1e3,
      scan / median(programs));
  return 0;
}
