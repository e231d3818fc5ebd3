// Who is told, the page, and what is pushed outward: values out of checked objects.
#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/value_shapes.hpp"

namespace logger::app {
namespace {

using analysis::alerts::QuietHours;

std::string text_or(const ObjectView& view, std::string_view key, std::string fallback = "") {
  return view.text(key).value_or(std::move(fallback));
}

std::vector<std::string> texts_from(const ObjectView& view, std::string_view key) {
  std::vector<std::string> texts;
  for (const JsonNode& item : view.items(key)) {
    texts.push_back(item.text);
  }
  return texts;
}

std::optional<std::chrono::minutes> clock_time(const ObjectView& view, std::string_view key) {
  const auto text = view.text(key);
  return text ? time_of_day_from(*text) : std::nullopt;
}

std::optional<Micros> hours_from(const ObjectView& view, std::string_view key) {
  const auto hours = view.number(key);
  return hours ? std::optional(analysis::base::micros_from_hours(*hours)) : std::nullopt;
}

std::optional<QuietHours> quiet_from(const ObjectView& view) {
  const auto from = clock_time(view, "from");
  const auto to = clock_time(view, "to");
  return from && to ? std::optional(QuietHours{*from, *to}) : std::nullopt;
}

JobRecipient recipient_from(const JsonNode& node) {
  const ObjectView view(&node);
  JobRecipient recipient;
  recipient.id = text_or(view, "id");
  recipient.mail = text_or(view, "mail");
  const ObjectView webhook = view.object("webhook");
  recipient.webhook_url = text_or(webhook, "url");
  recipient.webhook_secret_file = text_or(webhook, "secret_file");
  recipient.webhook_certificates = text_or(webhook, "certificates");
  recipient.mqtt_topic = text_or(view, "mqtt_topic");
  recipient.command = texts_from(view, "command");
  recipient.quiet_hours = quiet_from(view.object("quiet_hours"));
  return recipient;
}

JobMailServer mail_server_from(const ObjectView& view) {
  return {text_or(view, "url"),           text_or(view, "user"),
          text_or(view, "password_file"), text_or(view, "from"),
          text_or(view, "certificates"),  view.boolean("plain_text_allowed").value_or(false)};
}

JobMqttServer mqtt_server_from(const ObjectView& view) {
  JobMqttServer server;
  server.host = text_or(view, "host");
  server.tls = view.boolean("tls").value_or(server.tls);
  server.port = static_cast<int>(view.whole_number("port").value_or(server.tls ? 8883 : 1883));
  server.user = text_or(view, "user");
  server.password_file = text_or(view, "password_file");
  server.certificates = text_or(view, "certificates");
  server.topic = text_or(view, "topic");
  return server;
}

JobStatusPush status_push_from(const JsonNode& node) {
  const ObjectView view(&node);
  JobStatusPush push;
  push.url = text_or(view, "url");
  push.user = text_or(view, "user");
  push.password_file = text_or(view, "password_file");
  push.key_file = text_or(view, "key_file");
  push.host_key_sha256 = text_or(view, "host_key_sha256");
  push.certificates = text_or(view, "certificates");
  push.every = hours_from(view, "every_hours").value_or(push.every);
  push.personal = view.boolean("personal").value_or(push.personal);
  return push;
}

}  // namespace

void put_telling(const ObjectView& view, JobAlerts& alerts) {
  for (const JsonNode& item : view.items("recipients")) {
    alerts.recipients.push_back(recipient_from(item));
  }
  if (view.object("mail_server").present()) {
    alerts.mail_server = mail_server_from(view.object("mail_server"));
  }
  if (view.object("mqtt_server").present()) {
    alerts.mqtt_server = mqtt_server_from(view.object("mqtt_server"));
  }
  alerts.time_zone = text_or(view, "time_zone", alerts.time_zone);
  auto& telling = alerts.telling;
  const ObjectView reminders = view.object("reminders");
  telling.remind_every = hours_from(reminders, "every_hours");
  if (const auto most = reminders.whole_number("most")) {
    telling.most_reminders = static_cast<int>(*most);
  }
  const ObjectView escalation = view.object("escalation");
  telling.escalate_after = hours_from(escalation, "after_hours");
  alerts.escalate_to = text_or(escalation, "to");
  const ObjectView digest = view.object("digest");
  telling.digest_at = clock_time(digest, "at");
  alerts.digest_to = texts_from(digest, "to");
}

std::optional<JobPage> page_from(const ObjectView& view) {
  if (!view.present()) {
    return std::nullopt;
  }
  JobPage page;
  page.address = text_or(view, "address", page.address);
  page.port =
      static_cast<int>(view.whole_number("port").value_or(static_cast<std::uint64_t>(page.port)));
  page.tls_certificate = text_or(view, "tls_certificate");
  page.tls_key = text_or(view, "tls_key");
  page.tls_names = texts_from(view, "tls_names");
  return page;
}

std::vector<JobStatusPush> status_pushes_from(const std::vector<JsonNode>& items) {
  std::vector<JobStatusPush> pushes;
  for (const JsonNode& item : items) {
    pushes.push_back(status_push_from(item));
  }
  return pushes;
}

}  // namespace logger::app
