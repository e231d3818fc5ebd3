#include "logger/notify/channels/channels.hpp"

#include "logger/notify/channels/command_channel.hpp"
#include "logger/notify/channels/curl_channels.hpp"
#include "logger/notify/channels/mqtt_publish.hpp"

namespace logger::notify {

namespace {

class MqttChannel final : public Channel {
 public:
  explicit MqttChannel(MqttSettings settings) : settings_(std::move(settings)) {}
  Result<void> deliver(const Outgoing& message, const std::stop_token& stop) override {
    return publish_by_mqtt(settings_, {message.id, "application/json", message.json}, stop);
  }

 private:
  MqttSettings settings_;
};

using Made = Result<std::unique_ptr<Channel>>;

template <class Kind, class Settings>
Made checked(const Result<void>& check, const Settings& settings) {
  return check ? Made(std::make_unique<Kind>(settings)) : store::Failure{check.error()};
}

struct Make {
  Made operator()(const MailSettings& mail) const {
    return checked<MailChannel>(check_mail(mail), mail);
  }
  Made operator()(const WebhookSettings& webhook) const {
    return checked<WebhookChannel>(check_webhook(webhook), webhook);
  }
  Made operator()(const MqttSettings& mqtt) const {
    return checked<MqttChannel>(check_mqtt(mqtt), mqtt);
  }
  Made operator()(const CommandSettings& command) const {
    return Made(std::make_unique<CommandChannel>(command));
  }
};

}  // namespace

std::string_view delivery_left_out() { return ""; }

Result<std::unique_ptr<Channel>> channel_from(const ChannelSettings& settings) {
  return std::visit(Make{}, settings);
}

}  // namespace logger::notify
