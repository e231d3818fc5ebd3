#include "logger/app/status/alert_lines.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/alerts/acknowledgements.hpp"
#include "logger/app/alerts/alert_states.hpp"

namespace logger::app {

using analysis::alerts::Alert;
using analysis::alerts::Phase;
using store::Failure;
using store::Result;

namespace {

// Far more than a job has alerts that fire at once.
constexpr int kMessagesSearched = 500;

void add_acknowledgement(AlertLine& line, const Alert& alert,
                         const std::vector<NotedAcknowledgement>& noted) {
  if (const NotedAcknowledgement* newest = acknowledgement_of(alert, noted)) {
    line.acknowledged_at = newest->at;
    line.acknowledged_by = newest->by;
  }
}

}  // namespace

std::string text_of_message(const store::Message& message) {
  const auto tree = nlohmann::json::parse(message.payload_json, nullptr, false);
  return tree.is_object() ? tree.value("text", message.alert_key) : message.alert_key;
}

Result<std::vector<AlertLine>> alert_lines_from(store::ReadingStore& store,
                                                const JobRecords& records) {
  const auto alerts = alerts_from_store(store);
  if (!alerts) {
    return Failure{alerts.error()};
  }
  const auto noted = noted_acknowledgements(records);
  std::vector<AlertLine> lines;
  bool any_firing = false;
  for (const Alert& alert : alerts.value()) {
    if (alert.state.phase == Phase::inactive) {
      continue;
    }
    const bool firing = alert.state.phase == Phase::firing;
    any_firing = any_firing || firing;
    lines.push_back({key_of(alert), std::string(name_of(alert.kind)), alert.subject,
                     std::string(name_of(alert.state.phase)), alert.state.since, "", std::nullopt,
                     ""});
    if (firing) {
      lines.back().text = alert.telling.text;
      add_acknowledgement(lines.back(), alert, noted);
    }
  }
  const auto messages = any_firing
                            ? store.recent_messages(kMessagesSearched)
                            : Result<std::vector<store::Message>>(std::vector<store::Message>{});
  if (!messages) {
    return Failure{messages.error()};
  }
  for (AlertLine& line : lines) {
    const auto told = std::ranges::find_if(messages.value(), [&](const store::Message& message) {
      return message.alert_key == line.key && message.transition == "fired";
    });
    if (line.phase == "firing" && line.text.empty() && told != messages.value().end()) {
      line.text = text_of_message(*told);
    }
  }
  return lines;
}

}  // namespace logger::app
