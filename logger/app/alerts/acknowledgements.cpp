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

Result<std::string> content_of_fire(const GivenAcknowledgement& given, UtcMicros fired) {
  const std::string since = analysis::base::rfc3339_from_utc(fired);
  if (given.at && *given.at < fired) {
    return store::failure(ErrorCode::invalid_input,
                          "acknowledge at " + analysis::base::rfc3339_from_utc(*given.at) +
                              ": alert `" + given.alert_key + "` fires since " + since +
                              "; expected that time or a later one");
  }
  return store::json_line(
      {{"alert_key", given.alert_key}, {"fired_at_utc", since}, {"remark", given.remark}});
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

std::string needless_because(const store::Delivery& delivery, const std::vector<Alert>& alerts,
                             const std::vector<NotedAcknowledgement>& noted) {
  if (delivery.kind != "reminder" && delivery.kind != "escalation") {
    return "";
  }
  const bool fires = std::any_of(alerts.begin(), alerts.end(), [&](const Alert& alert) {
    return key_of(alert) == delivery.alert_key && fired_at(alert) == delivery.at;
  });
  if (!fires) {
    return "the alert has ended";
  }
  const bool seen = std::any_of(noted.begin(), noted.end(), [&](const auto& one) {
    return one.of.alert_key == delivery.alert_key && one.of.fired_at == delivery.at;
  });
  return seen ? "the alert was acknowledged" : "";
}

Result<std::string> acknowledgement_content(store::ReadingStore& store,
                                            const GivenAcknowledgement& given) {
  const auto alerts = alerts_from_store(store);
  if (!alerts) {
    return Failure{alerts.error()};
  }
  std::string firing;
  for (const Alert& alert : alerts.value()) {
    const auto fired = fired_at(alert);
    if (fired && key_of(alert) == given.alert_key) {
      return content_of_fire(given, *fired);
    }
    if (fired) {
      firing += (firing.empty() ? "" : ", ") + key_of(alert);
    }
  }
  return store::failure(ErrorCode::not_found,
                        "alert `" + given.alert_key + "` does not fire; " +
                            (firing.empty() ? "none does" : "those that do: " + firing));
}

}  // namespace logger::app
