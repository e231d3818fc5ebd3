#include "logger/notify/channels/channels.hpp"
#include "logger/notify/channels/command_channel.hpp"
#include "logger/notify/channels/mqtt_publish.hpp"
#include "logger/notify/channels/page_upload.hpp"

namespace logger::notify {

namespace {

store::Failure left_out() {
  return store::failure(store::ErrorCode::unsupported, std::string(delivery_left_out()));
}

}  // namespace

std::string_view delivery_left_out() {
  return "this program is built without mail, webhook, MQTT and upload (DWELLOG_DELIVERY is off)";
}

Result<std::unique_ptr<Channel>> channel_from(const ChannelSettings& settings) {
  if (const auto* command = std::get_if<CommandSettings>(&settings)) {
    return std::unique_ptr<Channel>(std::make_unique<CommandChannel>(*command));
  }
  return left_out();
}

Result<void> check_mqtt(const MqttSettings& /*settings*/) { return left_out(); }

Result<void> publish_by_mqtt(const MqttSettings& /*settings*/,
                             const MqttPublication& /*publication*/,
                             const std::stop_token& /*stop*/) {
  return left_out();
}

Result<void> check_upload(const UploadSettings& /*settings*/) { return left_out(); }

Result<void> upload_page(const UploadSettings& /*settings*/, const UploadedPage& /*page*/,
                         const std::stop_token& /*stop*/) {
  return left_out();
}

}  // namespace logger::notify
