// The channels that libcurl carries. Internal to channel_from.
#pragma once

#include <utility>

#include "logger/notify/channels/channels.hpp"

namespace logger::notify {

// invalid_input names the setting.
[[nodiscard]] Result<void> check_mail(const MailSettings& settings);
[[nodiscard]] Result<void> check_webhook(const WebhookSettings& settings);

// One message, text with HTML beside it and attachments. A recipient that is refused, or a message,
// is invalid_input; a login that is refused is unavailable, since somebody can set that right.
class MailChannel final : public Channel {
 public:
  explicit MailChannel(MailSettings settings) : settings_(std::move(settings)) {}
  Result<void> deliver(const Outgoing& message, const std::stop_token& stop) override;

 private:
  MailSettings settings_;
};

// Outgoing::json as the body of a POST; docs/delivery.md has the fields beside it. 200 to 299 is
// success; 400 to 499 but 408, 425 and 429 is invalid_input; all else unavailable. Follows nothing.
class WebhookChannel final : public Channel {
 public:
  explicit WebhookChannel(WebhookSettings settings) : settings_(std::move(settings)) {}
  Result<void> deliver(const Outgoing& message, const std::stop_token& stop) override;

 private:
  WebhookSettings settings_;
};

}  // namespace logger::notify
