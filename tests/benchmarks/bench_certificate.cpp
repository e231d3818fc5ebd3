// The certificate of a year of six channels at five minutes (105,120 records): making it against
// reading those rows from SQLite, verifying it against building the tree of RFC 9162 over the same
// leaves with libsodium alone, in the same run. Usage: bench_certificate [FOLDER].
#include <sodium.h>

#include <algorithm>
#include <array>
#include <sstream>

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/commands/keys/key_files.hpp"
#include "logger/verify/verify_files.hpp"
#include "tests/benchmarks/bench_folder.hpp"
#include "tests/benchmarks/big_store.hpp"
#include "tests/benchmarks/year_store.hpp"

namespace {

using namespace benchmarks;
using std::filesystem::path;

constexpr int kRounds = 5;
constexpr std::int64_t kRecordsPerCommit = 2;  // as a daemon that collects every five minutes

const char* const kJob = R"j({"format": "dwellog-job/1", "job": {"name": "Benchmark (invented)",
  "site_address": "none", "installer": "none", "client": ""},
  "rooms": [{"id": "room", "name": "Room", "floor_area_m2": 20, "floor_product": "none",
    "stack": {"carton_length_m": 1.29, "carton_width_m": 0.2, "carton_height_m": 0.06,
              "cartons_high": 9, "cartons_wide": 2},
    "requirements": {"slab": {"rh_high_percent_rh": 75, "source": "invented"}}}],
  "boxes": [{"id": "box-1", "serial": 1001, "port": "/dev/null", "unit": 1, "channels": [
    {"index": 0, "id": "air-t", "room": "room", "role": "room_air_temperature"},
    {"index": 1, "id": "air-rh", "room": "room", "role": "room_air_rh"},
    {"index": 2, "id": "core", "room": "room", "role": "stack_core_temperature"},
    {"index": 3, "id": "surface", "room": "room", "role": "slab_surface_temperature"},
    {"index": 4, "id": "slab-rh", "room": "room", "role": "slab_rh"},
    {"index": 5, "id": "supply", "room": "room", "role": "supply_voltage"}]}]})j";

void make_job(const logger::app::JobFolder& folder) {
  std::filesystem::create_directories(folder.root);
  std::ofstream(folder.job_file()) << kJob;
  make_year_store(folder.store_file(), kRecordsPerCommit);
  const auto key = required(logger::app::new_signing_key());
  required(logger::app::write_secret_key(folder.secret_key(), key, ""));
  std::ofstream(folder.public_key()) << analysis::evidence::text_from_public_key(key.public_key());
  const auto opened = required(logger::app::open_job(folder.root, true));
  logger::store::Note delivery;
  delivery.at = kSiteStart;
  delivery.noted_at = kSiteStart;
  delivery.kind = "delivery";
  delivery.by = "benchmark";
  delivery.content_json = R"({"carton_celsius":2.0})";
  required(opened.store->append_note(delivery));
  logger::store::CommitBatch last;
  last.seen_at = kSiteStart + analysis::base::micros_from_hours(366.0 * 24.0);
  required(opened.store->commit(last));
}

// Makes one certificate and gives the base of its files' names.
path certify(const logger::app::JobFolder& folder, int number) {
  std::ostringstream out;
  std::ostringstream err;
  logger::app::CertifyOptions options;
  options.job_dir = folder.root;
  if (logger::app::certify(options, {out, err}) != 0) {
    std::fprintf(stderr, "certify: %s", err.str().c_str());
    std::exit(4);
  }
  return folder.certificates() / ("room-" + std::to_string(number));
}

void verify(const path& base, const path& key) {
  std::ostringstream out;
  std::ostringstream err;
  logger::verify::VerifyOptions options;
  options.certificate = base.string() + ".json";
  options.key = key;
  options.readings = base.string() + ".readings.csv";
  // LOG
  if (logger::verify::verify_files(options, {"bench", out, err}) != 0) {
    std::fprintf(stderr, "verify: %s%s", out.str().c_str(), err.str().c_str());
    std::exit(4);
  }
}

using Hash = std::array<unsigned char, crypto_hash_sha256_BYTES>;

Hash hash_of(unsigned char prefix, const void* data, std::size_t size) {
  crypto_hash_sha256_state state;
  Hash hash;
  crypto_hash_sha256_init(&state);
  crypto_hash_sha256_update(&state, &prefix, 1);
  crypto_hash_sha256_update(&state, static_cast<const unsigned char*>(data), size);
  crypto_hash_sha256_final(&state, hash.data());
  return hash;
}

// The plainest way: all leaves, then level by level.
double seconds_of_tree(const std::vector<std::string>& leaves) {
  const Stopwatch watch;
  std::vector<Hash> level;
  for (const std::string& leaf : leaves) {
    level.push_back(hash_of(0, leaf.data(), leaf.size()));
  }
  while (level.size() > 1) {
    std::size_t above = 0;
    for (std::size_t i = 0; i + 1 < level.size(); i += 2) {
      level[above++] = hash_of(1, level[i].data(), 2 * sizeof(Hash));
    }
    if (level.size() % 2 == 1) {
      level[above++] = level.back();
    }
    level.resize(above);
  }
  return watch.seconds();
}

std::vector<std::string> record_lines(const path& readings) {
  std::ifstream file(readings);
  std::vector<std::string> lines;
  std::string line;
  std::getline(file, line);
  while (std::getline(file, line)) {
    lines.push_back(line);
  }
  return lines;
}

void print_sizes(const path& base) {
  for (const char* part : {".json", ".readings.csv", ".log", ".pdf", ".html"}) {
    std::error_code missing;
    const auto bytes = std::filesystem::file_size(base.string() + part, missing);
    if (!missing) {
      std::printf("  %-14s %10.0f B  %6.1f B a record\n", part, static_cast<double>(bytes),
                  static_cast<double>(bytes) / static_cast<double>(kYearRecords));
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  const BenchFolder folder{argc, argv};
  const logger::app::JobFolder job{folder.file("job")};
  make_job(job);
  std::vector<double> reading, making, tree, verifying;
  path base;
  for (int round = 1; round <= kRounds; ++round) {
    reading.push_back(seconds_of_reading_rows(job.store_file()));
    const Stopwatch watch;
    base = certify(job, round);
    making.push_back(watch.seconds());
    tree.push_back(seconds_of_tree(record_lines(base.string() + ".readings.csv")));
    const Stopwatch checking;
    verify(base, job.public_key());
    verifying.push_back(checking.seconds());
  }
  std::printf("a year of %d channels at 5 min, medians of %d rounds\n", kFittedChannels, kRounds);
  std::printf("reading the rows from SQLite         %8.3f s\n", median(reading));
  std::printf("making the certificate               %8.3f s, %.2f times the reading and 0.5 s\n",
              median(making), (median(making) - 0.5) / median(reading));
  std::printf("tree over its leaves with libsodium  %8.3f s\n", median(tree));
  std::printf("verifying, readings and log included %8.3f s, %.2f times the tree\n",
              median(verifying), median(verifying) / median(tree));
  print_sizes(base);
  return 0;
}
