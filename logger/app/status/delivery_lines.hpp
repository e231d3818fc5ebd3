// How far the job's messages are on their way to whom.
#pragma once

#include <string>
#include <vector>

#include "logger/app/job/job.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

struct DeliveryLine {
  std::string recipient;
  bool in_job = true;    // false: deliveries wait for somebody whom job.json no longer names
  int waiting = 0;       // held ones included
  int held = 0;          // by quiet hours
  int attempts = 0;      // of the oldest that failed; 0 = none did
  bool refused = false;  // that one, by the other side
  std::string last_error;
};
// One for each recipient of the job, and for others that something waits for.
[[nodiscard]] store::Result<std::vector<DeliveryLine>> delivery_lines_from(
    store::ReadingStore& store, const Job& job);

// Sets delivered_at (when the last recipient had it), attempts and last_error of the messages from
// what their deliveries say.
store::Result<void> put_deliveries(store::ReadingStore& store,
                                   std::vector<store::Message>& messages);

// "2 wait for office, 1 held by quiet hours; failed 3 times: ..."; empty where nothing waits.
[[nodiscard]] std::string text_from(const DeliveryLine& line);

}  // namespace logger::app
