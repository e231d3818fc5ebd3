#include "logger/app/alerts/acknowledgements.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/alerts/alert_states.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using analysis::alerts::Alert;
using analysis::alerts::Phase;
using store::ErrorCode;
using store::Failure;
using store::Result;

namespace {

// What the messages and the status call the moment an alert fired.
std::optional<UtcMicros> fired_at(const Alert& alert) {
  if (alert.state.phase != Phase::firing) {
    return std::nullopt;
  }
  return alert.telling.fired_at ? alert.telling.fired_at : alert.state.since;
}

}  // namespace

std::vector<NotedAcknowledgement> noted_acknowledgements(const JobRecords& records) {
  std::vector<NotedAcknowledgement> noted;
  for (const store::Note& note : records.notes) {
    if (note.kind != "acknowledgement") {
      continue;
    }
    const nlohmann::json content = content_of(note);
    const auto text = [&](const char* key) {
      return content.contains(key) && content[key].is_string() ? content[key].get<std::string>()
                                                               : std::string();
    };
    if (const auto fired = analysis::base::utc_from_rfc3339(text("fired_at_utc"))) {
      noted.push_back({{text("alert_key"), *fired}, note.at, note.by, text("remark")});
    }
  }
  return noted;
}

const NotedAcknowledgement* acknowledgement_of(const Alert& alert,
                                               const std::vector<NotedAcknowledgement>& noted) {
  const auto fired = fired_at(alert);
  const std::string key = key_of(alert);
  const auto found = std::find_if(noted.rbegin(), noted.rend(), [&](const auto& one) {
    return fired && one.of.alert_key == key && one.of.fired_at == *fired;
  });
  return found == noted.rend() ? nullptr : &*found;
}

Result<std::string> acknowledgement_content(store::ReadingStore& store,
                                            const std::string& alert_key,
                                            const std::string& remark) {
  const auto alerts = alerts_from_store(store);
  if (!alerts) {
    return Failure{alerts.error()};
  }
  std::string firing;
  for (const Alert& alert : alerts.value()) {
    const auto fired = fired_at(alert);
    if (fired && key_of(alert) == alert_key) {
      return store::json_line({{"alert_key", alert_key},
                               {"fired_at_utc", analysis::base::rfc3339_from_utc(*fired)},
                               {"remark", remark}});
    }
    if (fired) {
      firing += (firing.empty() ? "" : ", ") + key_of(alert);
    }
  }
  return store::failure(ErrorCode::not_found,
                        "alert `" + alert_key + "` does not fire; " +
                            (firing.empty() ? "none does" : "those that do: " + firing));
}

}  // namespace logger::app
