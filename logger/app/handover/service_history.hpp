// The room air of the dwell and since the laying, from the log in one pass; memory does not grow
// with the log. Reads only.
#pragma once

#include <optional>

#include "analysis/readiness/service/service_log.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

struct ServiceTimes {
  std::optional<UtcMicros> delivered_at;
  UtcMicros laying_began_at;
  UtcMicros laid_at;
  UtcMicros now;
};
struct ServiceHistory {
  // Mean from the delivery to the laying, by recorded time; nullopt where less than half a day of
  // them is recorded or nobody noted a delivery.
  std::optional<analysis::base::RelativeHumidity> dwell_rh;
  double dwell_days = 0.0;  // recorded, behind it
  analysis::readiness::ServiceLog since_laying;
};

[[nodiscard]] store::Result<ServiceHistory> service_history_from(store::ReadingStore& store,
                                                                 const Job& job,
                                                                 const JobRoom& room,
                                                                 const JobRecords& records,
                                                                 const ServiceTimes& times);

}  // namespace logger::app
