// What people and programs did or were refused, as rows of the evidence log; many of one kind in
// one minute become one row, so that guessing can't fill the store. Pure but for its mutex; any
// thread.
#pragma once

#include <map>
#include <set>
#include <string>
#include <vector>

#include "logger/store/annotated_mutex.hpp"
#include "logger/store/reading_store.hpp"
#include "logger/web/site/site.hpp"

namespace logger::app {

using analysis::base::Micros;
using analysis::base::UtcMicros;

inline constexpr const char* kAccessEvent = "access";

class AccessAudit {
 public:
  static constexpr Micros kMinute{60'000'000};
  // In one minute, of one who is known; of nobody known only the first is written by itself.
  static constexpr int kRowsOfTheirOwn = 30;
  static constexpr std::size_t kMostAddresses = 5;  // named in a row of many
  static constexpr std::size_t kMostKinds = 100;    // (action, who) in one minute; the rest is one

  // Rows to be written now: this entry, or nothing while it is counted, and whatever was counted in
  // minutes that are over.
  [[nodiscard]] std::vector<store::Event> add(const web::AuditEntry& entry);
  // What was counted in minutes that are over by then.
  [[nodiscard]] std::vector<store::Event> over_by(UtcMicros now);
  // All that is still counted.
  [[nodiscard]] std::vector<store::Event> rest();

 private:
  struct Counted {
    UtcMicros began_at;
    UtcMicros last_at;
    int written = 0;
    int joined = 0;
    std::set<std::string> addresses;
    bool more_addresses = false;
  };
  using Kind = std::pair<std::string, std::string>;  // action, principal id
  [[nodiscard]] std::vector<store::Event> taken(UtcMicros now, bool all) DWELLOG_REQUIRES(mutex_);

  store::Mutex mutex_;
  std::map<Kind, Counted> counted_ DWELLOG_GUARDED_BY(mutex_);
};

// {"entries": [{"id", "at_utc", "principal", "action", ...}], "next_before": id or null}; newest
// first, those before `before_id` (0 = all). `events`: all of the store, by id.
[[nodiscard]] std::string audit_json_from(const std::vector<store::Event>& events,
                                          std::int64_t before_id, int limit);

}  // namespace logger::app
