// Who has seen which alert, as notes of the kind "acknowledgement" tell it: {"alert_key",
// "fired_at_utc", "remark"}.
#pragma once

#include <string>
#include <vector>

#include "analysis/alerts/telling_policy.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::app {

struct NotedAcknowledgement {
  analysis::alerts::Acknowledgement of;
  UtcMicros at;
  std::string by;
  std::string remark;
};
// Oldest first; notes that can't be read are left out.
[[nodiscard]] std::vector<NotedAcknowledgement> noted_acknowledgements(const JobRecords& records);
// The newest one of this fire; nullptr where nobody did.
[[nodiscard]] const NotedAcknowledgement* acknowledgement_of(
    const analysis::alerts::Alert& alert, const std::vector<NotedAcknowledgement>& noted);

// The content of a note that acknowledges the alert with that key as it fires now. Errors:
// not_found (no such alert, or it does not fire; the context lists those that do), those of the
// store.
[[nodiscard]] store::Result<std::string> acknowledgement_content(store::ReadingStore& store,
                                                                 const std::string& alert_key,
                                                                 const std::string& remark);

}  // namespace logger::app
