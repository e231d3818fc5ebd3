#include "logger/app/alerts/alert_states.hpp"

#include "logger/notify/alert_json.hpp"

namespace logger::app {

using analysis::alerts::Alert;

store::AlertState row_from_alert(const Alert& alert) {
  return {key_of(alert), notify::json_from_alert_state(alert)};
}

store::Result<std::vector<Alert>> alerts_from_store(store::ReadingStore& store) {
  const auto rows = store.alert_states();
  if (!rows) {
    return store::Failure{rows.error()};
  }
  std::vector<Alert> alerts;
  for (const store::AlertState& row : rows.value()) {
    auto alert = analysis::alerts::alert_from_key(row.key);
    const auto state =
        alert ? notify::read_alert_state(row.state_json, *alert) : store::Result<void>{};
    if (!alert || !state) {
      return store::failure(store::ErrorCode::corrupt,
                            "alert state " + row.key + " in the store can't be read" +
                                (state ? "" : ": " + state.error().context));
    }
    alerts.push_back(std::move(*alert));
  }
  return alerts;
}

}  // namespace logger::app
