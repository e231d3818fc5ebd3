// The ways a message goes out: mail (RFC 5321, RFC 5322), webhook (HTTP POST), MQTT 5 (OASIS 2019)
// and a command. Each makes its connection anew for each message, keeps none and reads no clock.
// One thread a channel. Secrets are never part of an error.
#pragma once

#include <chrono>
#include <memory>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "logger/notify/channel.hpp"
#include "logger/transfer/transfer_limits.hpp"

namespace logger::notify {

using namespace std::chrono_literals;

struct MailSettings {
  std::string url;   // smtps://HOST[:PORT], or smtp://HOST[:PORT], where STARTTLS is insisted on
  std::string user;  // empty = without logging in
  std::string password;
  std::string from;  // addresses: ASCII, one @
  std::string to;
  std::string certificates_file;    // PEM; empty = those that the system trusts
  bool plain_text_allowed = false;  // smtp:// to this machine without STARTTLS
  transfer::TransferLimits limits{60s, 15s};
};

struct WebhookSettings {
  std::string url;     // https://, or http:// to this machine
  std::string secret;  // signs what is sent; empty = unsigned
  std::string certificates_file;
  transfer::TransferLimits limits{};
};

struct MqttSettings {
  std::string host;
  int port = 8883;
  bool tls = true;  // false: to this machine only
  std::string user;
  std::string password;
  std::string certificates_file;
  std::string topic;
  std::chrono::milliseconds whole{20'000};  // from the first packet to the acknowledgement
};

struct CommandSettings {
  std::vector<std::string> argv;
  std::chrono::seconds timeout{30};
};

using ChannelSettings = std::variant<MailSettings, WebhookSettings, MqttSettings, CommandSettings>;

// Errors: invalid_input, which names the setting; unsupported for all but commands where
// delivery_left_out() is not empty.
[[nodiscard]] Result<std::unique_ptr<Channel>> channel_from(const ChannelSettings& settings);

// One clause that says why there is no mail, webhook, MQTT and upload in this build; empty where
// there is.
[[nodiscard]] std::string_view delivery_left_out();

}  // namespace logger::notify
