// Who has seen which alert, as notes of the kind "acknowledgement" tell it: {"alert_key",
// "fired_at_utc", "remark"}.
#pragma once

#include <optional>
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

// Why a reminder or an escalation is not to be told any more: one clause. Empty where it is, and
// for all other kinds.
[[nodiscard]] std::string needless_because(const store::Delivery& delivery,
                                           const std::vector<analysis::alerts::Alert>& alerts,
                                           const std::vector<NotedAcknowledgement>& noted);

struct GivenAcknowledgement {
  std::string alert_key;
  std::string remark;
  std::optional<UtcMicros> at{};  // where somebody said when; nullopt = just now
};
// The content of a note that acknowledges the alert with that key as it fires now. Errors:
// not_found (no such alert, or it does not fire; the context lists those that do), invalid_input
// (`at` is before it fired), those of the store.
[[nodiscard]] store::Result<std::string> acknowledgement_content(store::ReadingStore& store,
                                                                 const GivenAcknowledgement& given);

}  // namespace logger::app
