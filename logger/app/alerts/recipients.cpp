#include "logger/app/alerts/recipients.hpp"

#include "logger/app/alerts/secret_files.hpp"
#include "logger/notify/channels/channels.hpp"

namespace logger::app {

using store::ErrorCode;
using store::Failure;
using store::Result;

namespace {

notify::ChannelSettings mail_settings(const JobRecipient& recipient, const JobMailServer& server,
                                      SecretFiles& files) {
  notify::MailSettings mail;
  mail.url = server.url;
  mail.user = server.user;
  mail.password = files.secret_of(server.password_file);
  mail.from = server.from;
  mail.to = recipient.mail;
  mail.certificates_file = files.path_of(server.certificates);
  mail.plain_text_allowed = server.plain_text_allowed;
  return mail;
}

Result<notify::ChannelSettings> settings_of(const JobRecipient& recipient, const JobAlerts& alerts,
                                            SecretFiles& files) {
  if (!recipient.command.empty()) {
    return notify::ChannelSettings{
        notify::CommandSettings{recipient.command, std::chrono::seconds(alerts.command_timeout_s)}};
  }
  if (!recipient.webhook_url.empty()) {
    notify::WebhookSettings webhook;
    webhook.url = recipient.webhook_url;
    webhook.secret = files.secret_of(recipient.webhook_secret_file);
    webhook.certificates_file = files.path_of(recipient.webhook_certificates);
    return notify::ChannelSettings{webhook};
  }
  if (!recipient.mail.empty() && alerts.mail_server) {
    return mail_settings(recipient, *alerts.mail_server, files);
  }
  if (!recipient.mqtt_topic.empty() && alerts.mqtt_server) {
    return notify::ChannelSettings{
        mqtt_settings_from(*alerts.mqtt_server, recipient.mqtt_topic, files)};
  }
  return store::failure(ErrorCode::invalid_input, "job.json names no way to it");
}

}  // namespace

std::vector<JobRecipient> recipients_of(const JobAlerts& alerts) {
  std::vector<JobRecipient> recipients = alerts.recipients;
  if (!alerts.command.empty()) {
    JobRecipient& command = recipients.emplace_back();
    command.id = kCommandRecipient;
    command.command = alerts.command;
  }
  return recipients;
}

analysis::alerts::TellingRules telling_rules_from(const JobAlerts& alerts) {
  analysis::alerts::TellingRules rules;
  rules.policy = alerts.telling;
  for (const JobRecipient& recipient : recipients_of(alerts)) {
    rules.recipients.push_back({recipient.id, recipient.quiet_hours});
  }
  rules.escalate_to = alerts.escalate_to;
  rules.urgent = alerts.settings.urgent;
  return rules;
}

Result<std::unique_ptr<notify::Channel>> channel_for(const JobRecipient& recipient,
                                                     const JobAlerts& alerts,
                                                     const std::string& folder) {
  SecretFiles files{folder};
  const auto settings = settings_of(recipient, alerts, files);
  auto fault = settings ? files.fault() : std::optional(settings.error());
  if (!fault) {
    auto channel = notify::channel_from(settings.value());
    if (channel) {
      return channel;
    }
    fault = channel.error();
  }
  fault->context = "recipient " + recipient.id + ": " + fault->context;
  return Failure{std::move(*fault)};
}

}  // namespace logger::app
