// Alerts that are pending or firing, with what they said and who acknowledged them.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "logger/app/room/room_tracker.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

struct AlertLine {
  std::string key;      // "out_of_band/kitchen"
  std::string rule;     // "out_of_band"
  std::string subject;  // room, box or channel
  std::string phase;    // "pending", "firing"
  std::optional<UtcMicros> since;
  std::string text;  // as it was told; empty while pending, or when it was told very long ago
  std::optional<UtcMicros> acknowledged_at;
  std::string acknowledged_by;
};

// By key. An acknowledgement counts for the firing it was noted in, not for an earlier one.
[[nodiscard]] store::Result<std::vector<AlertLine>> alert_lines_from(store::ReadingStore& store,
                                                                     const JobRecords& records);

// What a message said to people.
[[nodiscard]] std::string text_of_message(const store::Message& message);

}  // namespace logger::app
