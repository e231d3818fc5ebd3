#include "logger/app/status/delivery_lines.hpp"

#include <algorithm>

#include "logger/app/alerts/recipients.hpp"

namespace logger::app {

using store::Failure;
using store::Result;

namespace {

// Each of the few messages shown has one for each recipient, and reminders lie between them.
constexpr int kDeliveriesSearched = 500;

DeliveryLine& line_of(std::vector<DeliveryLine>& lines, const std::string& recipient) {
  const auto found = std::ranges::find(lines, recipient, &DeliveryLine::recipient);
  if (found != lines.end()) {
    return *found;
  }
  DeliveryLine& line = lines.emplace_back();
  line.recipient = recipient;
  line.in_job = false;
  return line;
}

void put_delivery(const store::Delivery& delivery, store::Message& message, bool& all_delivered) {
  message.attempts = std::max(message.attempts, delivery.attempts);
  if (!delivery.delivered_at) {
    all_delivered = false;
    message.last_error = delivery.last_error.empty() ? message.last_error : delivery.last_error;
  } else if (!message.delivered_at || *message.delivered_at < *delivery.delivered_at) {
    message.delivered_at = delivery.delivered_at;
  }
}

}  // namespace

Result<std::vector<DeliveryLine>> delivery_lines_from(store::ReadingStore& store, const Job& job) {
  const auto waiting = store.waiting_deliveries();
  if (!waiting) {
    return Failure{waiting.error()};
  }
  std::vector<DeliveryLine> lines;
  for (const JobRecipient& recipient : recipients_of(job.alerts)) {
    lines.emplace_back().recipient = recipient.id;
  }
  for (const store::Delivery& delivery : waiting.value()) {
    DeliveryLine& line = line_of(lines, delivery.recipient);
    ++line.waiting;
    line.held += delivery.held ? 1 : 0;
    if (line.attempts == 0 && delivery.attempts > 0) {
      line.attempts = delivery.attempts;
      line.refused = delivery.refused;
      line.last_error = delivery.last_error;
    }
  }
  return lines;
}

Result<void> put_deliveries(store::ReadingStore& store, std::vector<store::Message>& messages) {
  const auto deliveries = store.recent_deliveries(kDeliveriesSearched);
  if (!deliveries) {
    return Failure{deliveries.error()};
  }
  for (store::Message& message : messages) {
    bool all_delivered = true;
    for (const store::Delivery& delivery : deliveries.value()) {
      if (delivery.alert_key == message.alert_key && delivery.at == message.at &&
          delivery.kind == message.transition) {
        put_delivery(delivery, message, all_delivered);
      }
    }
    if (!all_delivered) {
      message.delivered_at.reset();
    }
  }
  return {};
}

std::string text_from(const DeliveryLine& line) {
  if (line.waiting == 0) {
    return {};
  }
  std::string text = std::to_string(line.waiting) + " not delivered to " + line.recipient;
  text += line.in_job ? "" : ", whom job.json no longer names";
  text += line.held > 0 ? ", " + std::to_string(line.held) + " held by quiet hours" : "";
  if (line.attempts > 0) {
    text += (line.refused ? "; refused, tried " : "; failed ") + std::to_string(line.attempts) +
            (line.attempts == 1 ? " time: " : " times: ") + line.last_error;
  }
  return text;
}

}  // namespace logger::app
