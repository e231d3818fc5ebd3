// Two real indoor logs (Finnish houses, CC BY 4.0, see shared/data) go through `dwellog import`,
// the store and the accounting; the hours are compared with a calculation written here that shares
// nothing with the program. Exits 77 (skipped) where the data folder is missing.
#include <catch2/catch.hpp>
#include <cmath>
#include <fstream>
#include <iostream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "tests/catch_session.hpp"
#include "tests/scenarios/site_rig.hpp"

using namespace scenarios;

namespace {

const std::filesystem::path kData = "../shared/data/trh1";

struct Row {
  double minutes;  // since the first row
  double celsius;
  double percent_rh;
};

std::vector<Row> rows_of(const std::filesystem::path& file) {
  std::ifstream in(file);
  std::string line;
  std::getline(in, line);
  std::vector<Row> rows;
  double first = -1.0;
  while (std::getline(in, line)) {
    int year = 0;
    int month = 0;
    int day = 0;
    int hour = 0;
    int minute = 0;
    int second = 0;
    Row row{};
    REQUIRE(std::sscanf(line.c_str(), "%d-%d-%d %d:%d:%d,%lf,%lf", &year, &month, &day, &hour,
                        &minute, &second, &row.celsius, &row.percent_rh) == 8);
    // Days from civil, Howard Hinnant's algorithm, written out so as not to share the program's.
    const int y = month <= 2 ? year - 1 : year;
    const int era = y / 400;
    const int yoe = y - era * 400;
    const int doy = (153 * (month + (month > 2 ? -3 : 9)) + 2) / 5 + day - 1;
    const int doe = yoe * 365 + yoe / 4 - yoe / 100 + doy;
    const double minutes = (era * 146097.0 + doe) * 1440.0 + hour * 60.0 + minute + second / 60.0;
    if (first < 0) {
      first = minutes;
    }
    row.minutes = minutes - first;
    rows.push_back(row);
  }
  return rows;
}

// Minutes in which a straight line from a to b lies within low..high, as a share of 0..1.
std::pair<double, double> inside(double a, double b, double low, double high) {
  if (a == b) {
    return a >= low && a <= high ? std::pair{0.0, 1.0} : std::pair{1.0, 0.0};
  }
  double enter = (low - a) / (b - a);
  double leave = (high - a) / (b - a);
  if (enter > leave) {
    std::swap(enter, leave);
  }
  return {std::max(0.0, enter), std::min(1.0, leave)};
}

// Cumulative minutes in the band over intervals no longer than `longest`: the program's
// "cumulative" policy has no resets, so it needs no state and can be summed interval by interval.
double minutes_in_band(const std::vector<Row>& rows, double longest) {
  double sum = 0.0;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const Row& p = rows[i - 1];
    const Row& q = rows[i];
    const double length = q.minutes - p.minutes;
    if (length <= 0.0 || length > longest) {
      continue;
    }
    const auto t = inside(p.celsius, q.celsius, 17.0, 23.0);
    const auto h = inside(p.percent_rh, q.percent_rh, 45.0, 60.0);
    const double share = std::min(t.second, h.second) - std::max(t.first, h.first);
    sum += share > 0.0 ? share * length : 0.0;
  }
  return sum;
}

void write_job(const std::filesystem::path& job_dir, int longest_interval_minutes) {
  std::ofstream out(job_dir / "job.json");
  out << R"({"format": "dwellog-job/1",
  "job": {"name": "Real log", "site_address": "a house", "installer": "none", "client": ""},
  "rooms": [{"id": "room", "name": "Room", "floor_area_m2": 20, "floor_product": "none",
    "requirements": {
      "dwell": {"hours": 48, "cumulative": true, "source": "this test"},
      "interruptions": {"longest_interval_minutes": )"
      << longest_interval_minutes << R"(, "grace_minutes": 15,
        "excursion_budget_minutes": 60, "longest_unknown_hours": 4, "source": "this test"},
      "stack_core": {"probe_required": false, "within_kelvin": 1, "source": "this test"},
      "slab": null}}],
  "boxes": [{"id": "logger", "csv": {"time_column": "t_UTC+2", "time_format": "%Y-%m-%d %H:%M:%S",
      "time_zone": "+02:00"},
    "channels": [
      {"index": 0, "id": "air-t", "room": "room", "role": "room_air_temperature",
       "csv_column": "T", "csv_unit": "celsius"},
      {"index": 1, "id": "air-rh", "room": "room", "role": "room_air_rh",
       "csv_column": "RH", "csv_unit": "percent_rh"}]}]})";
}

struct RealLog {
  const char* file;
  std::size_t rows;
  int longest_interval_minutes;
  const char* before_first;  // a moment no later than the first row
};

void import_and_compare(const RealLog& log) {
  const ScratchFolder scratch;
  const auto job = scratch.path() / "job";
  REQUIRE(dwellog({"new", job.string()}).status == 0);
  write_job(job, log.longest_interval_minutes);
  const auto noted =
      dwellog({"note", job.string(), "delivery", "--by", "test", "--at", log.before_first});
  INFO(noted.out);
  REQUIRE(noted.status == 0);
  const auto rows = rows_of(kData / log.file);
  REQUIRE(rows.size() == log.rows);

  const auto imported = dwellog({"import", job.string(), (kData / log.file).string()});
  INFO(imported.out);
  REQUIRE(imported.status == 0);
  CHECK(imported.out.find(std::to_string(log.rows) + " new records") != std::string::npos);
  const auto again = dwellog({"import", job.string(), (kData / log.file).string()});
  CHECK(again.out.find(" 0 new records") != std::string::npos);

  const auto status = dwellog({"status", job.string(), "--json"});
  const auto tree = nlohmann::json::parse(status.out);
  const double hours = tree["rooms"][0]["dwell_done_hours"].get<double>();
  const double expected = minutes_in_band(rows, log.longest_interval_minutes) / 60.0;
  std::cout << log.file << ": " << hours << " h in band, independently " << expected << " h\n";
  CHECK(expected > 10.0);
  CHECK(hours == Approx(expected).margin(1e-6));
  const auto future = scratch.path() / "future.csv";
  std::ofstream(future) << "t_UTC+2,T,RH\n2999-01-01 00:00:00,20.00,50.00\n";
  CHECK(dwellog({"import", job.string(), future.string()}).status == 1);
  // Years old: whatever the hours, nothing can be said of today.
  CHECK(status.status == 3);
}

}  // namespace

TEST_CASE("TenMinuteLogOfAHouseUnderRenovationGivesTheSameHours") {
  import_and_compare({"R1_indoor_10min.csv", 21365, 45, "2020-12-18T13:15:00Z"});
}

TEST_CASE("HourlyLogOfAHouseGivesTheSameHours") {
  import_and_compare({"R4_indoor1_hourly.csv", 14449, 180, "2010-11-14T22:00:00Z"});
}

int main(int argc, char* argv[]) {
  constexpr int kSkipped = 77;
  if (!std::filesystem::exists(kData)) {
    std::cout << "skipped: " << kData << " is not there\n";
    return kSkipped;
  }
  return run_tests(argc, argv);
}
