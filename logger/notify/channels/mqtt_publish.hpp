// One message to an MQTT 5 server at quality of service 1. Source: OASIS MQTT Version 5.0 (2019).
// Blocks, for a worker thread, until the server acknowledged it or time is up.
#pragma once

#include <stop_token>
#include <string>

#include "logger/notify/channels/channels.hpp"

namespace logger::notify {

struct MqttPublication {
  std::string id;            // user property "id" of the message
  std::string content_type;  // property of that name
  std::string payload;
  bool retain = false;  // the server keeps it for whoever subscribes later
};

// invalid_input names the setting.
[[nodiscard]] Result<void> check_mqtt(const MqttSettings& settings);

// REQUIRES: check_mqtt. Errors: invalid_input (the server will never take it: topic or size),
// timeout, unavailable (no connection, not logged in, not trusted, dropped).
[[nodiscard]] Result<void> publish_by_mqtt(const MqttSettings& settings,
                                           const MqttPublication& publication,
                                           const std::stop_token& stop);

}  // namespace logger::notify
