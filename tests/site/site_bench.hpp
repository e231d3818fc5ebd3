// A job folder with a store of invented readings, whose now is that of the last commit.
#pragma once

#include <catch2/catch.hpp>
#include <fstream>
#include <string>
#include <vector>

#include "logger/app/commands/job_folder.hpp"
#include "logger/app/site/job_site.hpp"
#include "tests/app/scratch_folder.hpp"

namespace site_tests {

using namespace logger::app;
using analysis::base::ChannelStatus;
using analysis::base::micros_from_hours;

// Names that must be told from everything else in a document.
inline const std::string kJobText = R"({
  "format": "dwellog-job/1",
  "job": {"name": "Xjobname", "site_address": "Xaddress 4", "installer": "Xinstaller",
          "client": "Xclient"},
  "rooms": [
    {"id": "hall", "name": "Hall", "floor_area_m2": 12.5, "floor_product": "Laminate 8 mm",
     "requirements": {"slab": null}},
    {"id": "attic", "name": "Attic", "floor_area_m2": 8, "floor_product": "Laminate 8 mm",
     "requirements": {"slab": null}}
  ],
  "boxes": [
    {"id": "one", "serial": 77, "port": "/dev/null",
     "channels": [
       {"index": 0, "id": "t", "room": "hall", "role": "room_air_temperature"},
       {"index": 1, "id": "rh", "room": "hall", "role": "room_air_rh"},
       {"index": 2, "id": "core", "room": "hall", "role": "stack_core_temperature"}]},
    {"id": "two", "serial": 78, "port": "/dev/zero",
     "channels": [
       {"index": 0, "id": "attic-t", "room": "attic", "role": "room_air_temperature"},
       {"index": 1, "id": "attic-rh", "room": "attic", "role": "room_air_rh"},
       {"index": 2, "id": "core-2", "room": "hall", "role": "stack_core_temperature",
        "frozen_after_hours": 3}]}
  ]
})";

inline constexpr UtcMicros kBegin{1'772'442'000'000'000};  // 2026-03-02T09:00:00Z
inline constexpr std::int64_t kMinuteMs = 60'000;

class SiteBench {
 public:
  SiteBench() {
    std::ofstream(folder().job_file()) << kJobText;
    auto store = logger::store::open_sqlite_store(folder().store_file().string(), {.create = true});
    REQUIRE(store);
    REQUIRE(store.value()->mark_simulated(true));
  }
  [[nodiscard]] JobFolder folder() const { return {scratch_.path()}; }
  [[nodiscard]] OpenedJob open(bool for_writing = false) const {
    auto opened = open_job(folder().root, for_writing);
    REQUIRE(opened);
    return std::move(opened).value();
  }
  // One record a minute of both boxes, number first..last; the air stirs, the core stands still in
  // box two. Sensor t does not answer in minute 7.
  void add_minutes(std::int64_t first, std::int64_t last) const {
    logger::store::CommitBatch batch;
    for (const std::string box_id : {"one", "two"}) {
      logger::store::BoxBatch box{box_id, {}, {}};
      for (std::int64_t n = first; n <= last; ++n) {
        box.records.push_back(record(box_id, n));
      }
      for (const std::int64_t n : {first, last}) {
        box.exchanges.push_back(
            {1, {n * kMinuteMs, kBegin + Micros{n * kMinuteMs * 1000}, Micros{2000}}});
      }
      batch.boxes.push_back(std::move(box));
    }
    batch.seen_at = kBegin + Micros{last * kMinuteMs * 1000};
    const auto opened = open(true);
    REQUIRE(opened.store->commit(batch));
  }
  void add_events(std::vector<logger::store::Event> events) const {
    const auto opened = open(true);
    REQUIRE(opened.store->commit({.events = std::move(events)}));
  }

 private:
  static analysis::base::Record record(const std::string& box_id, std::int64_t n) {
    analysis::base::Record record;
    record.id = {1, n};
    record.ticks_ms = n * kMinuteMs;
    record.statuses.fill(ChannelStatus::not_fitted);
    std::fill_n(record.statuses.begin(), 3, ChannelStatus::ok);
    if (box_id == "one" && n == 7) {
      record.statuses[0] = ChannelStatus::no_answer;
    }
    record.raw_counts[0] = 2000 + static_cast<std::int32_t>(n % 7);
    record.raw_counts[1] = 5000 + static_cast<std::int32_t>(n % 5);
    record.raw_counts[2] = box_id == "one" ? 1700 + static_cast<std::int32_t>(n % 11) : 1650;
    return record;
  }
  ScratchFolder scratch_;
};

inline const logger::web::Principal kCrew{"u3", "Xcrew", logger::web::Role::crew};

}  // namespace site_tests
