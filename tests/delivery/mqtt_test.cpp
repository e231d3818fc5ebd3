// MQTT to a real server.
#include <mosquitto.h>
#include <mqtt_protocol.h>

#include <catch2/catch.hpp>
#include <optional>

#include "logger/notify/channels/mqtt_publish.hpp"
#include "tests/delivery/messages.hpp"

using namespace delivery_tests;
using Catch::Contains;
using Catch::StartsWith;

namespace {

MqttSettings mqtt(const ServerFolder& folder, int port) {
  MqttSettings settings;
  settings.host = "127.0.0.1";
  settings.port = port;
  settings.user = "site";
  settings.password = kPassword;
  settings.certificates_file = folder.file("ca.pem");
  settings.topic = "site/kitchen/alerts";
  return settings;
}

struct Received {
  std::string payload;
  std::string id;
  int qos = -1;
  bool retained = false;
};

// Another client of the same server that takes what comes.
class Listener {
 public:
  Listener(const MqttSettings& settings) {
    client_ = mosquitto_new("listener", true, this);
    mosquitto_int_option(client_, MOSQ_OPT_PROTOCOL_VERSION, MQTT_PROTOCOL_V5);
    mosquitto_username_pw_set(client_, settings.user.c_str(), settings.password.c_str());
    mosquitto_tls_set(client_, settings.certificates_file.c_str(), nullptr, nullptr, nullptr,
                      nullptr);
    mosquitto_message_v5_callback_set(client_, [](mosquitto*, void* user,
                                                  const mosquitto_message* taken,
                                                  const mosquitto_property* properties) {
      Received received{
          {static_cast<const char*>(taken->payload), static_cast<std::size_t>(taken->payloadlen)},
          "",
          taken->qos,
          taken->retain};
      char* name = nullptr;
      char* value = nullptr;
      if (mosquitto_property_read_string_pair(properties, MQTT_PROP_USER_PROPERTY, &name, &value,
                                              false) != nullptr) {
        received.id = std::string(name) + "=" + value;
        std::free(name);
        std::free(value);
      }
      static_cast<Listener*>(user)->received_.push_back(received);
    });
    mosquitto_subscribe_v5_callback_set(
        client_, [](mosquitto*, void* user, int, int, const int*, const mosquitto_property*) {
          static_cast<Listener*>(user)->subscribed_ = true;
        });
    REQUIRE(mosquitto_connect(client_, "127.0.0.1", settings.port, 60) == MOSQ_ERR_SUCCESS);
    mosquitto_subscribe(client_, nullptr, "site/#", 1);
    run_until([this] { return subscribed_; });
  }
  ~Listener() { mosquitto_destroy(client_); }
  Listener(const Listener&) = delete;
  Listener& operator=(const Listener&) = delete;

  [[nodiscard]] std::vector<Received> wait_for(std::size_t count) {
    run_until([&] { return received_.size() >= count; });
    return received_;
  }

 private:
  template <class There>
  void run_until(There there) {
    for (int turn = 0; turn < 200 && !there(); ++turn) {
      mosquitto_loop(client_, 100, 1);
    }
    REQUIRE(there());
  }
  mosquitto* client_;
  bool subscribed_ = false;
  std::vector<Received> received_;
};

}  // namespace

TEST_CASE("A message is published at quality of service 1 over TLS and carries its id") {
  const ServerFolder folder;
  const MqttServer server(folder);
  const MqttSettings settings = mqtt(folder, server.port());
  Listener listener(settings);
  REQUIRE(outcome(*made(settings), message()) == "");
  const auto received = listener.wait_for(1);
  CHECK(received[0].payload == message().json);
  CHECK(received[0].id == "id=job-1.17.anna");
  CHECK(received[0].qos == 1);
  CHECK_FALSE(received[0].retained);
}

TEST_CASE("A retained page is there for whoever comes later, the newest alone") {
  const ServerFolder folder;
  const MqttServer server(folder);
  const MqttSettings settings = mqtt(folder, server.port());
  const std::string page(400'000, 'p');
  REQUIRE(publish_by_mqtt(settings, {"1", "text/html", "old", true}, {}));
  REQUIRE(publish_by_mqtt(settings, {"2", "text/html", page, true}, {}));
  Listener listener(settings);
  const auto received = listener.wait_for(1);
  CHECK(received.size() == 1);
  CHECK(received[0].retained);
  CHECK(received[0].payload == page);
}

TEST_CASE("A server that is away for a while takes the message when it is back") {
  const ServerFolder folder;
  auto server = std::make_unique<MqttServer>(folder);
  const MqttSettings settings = mqtt(folder, server->port());
  const auto channel = made(settings);
  REQUIRE(outcome(*channel, message("1")) == "");
  server.reset();
  CHECK_THAT(outcome(*channel, message("2")), StartsWith("again: MQTT server 127.0.0.1:"));
  server = std::make_unique<MqttServer>(folder, "server", std::to_string(settings.port));
  Listener listener(settings);
  REQUIRE(outcome(*channel, message("2")) == "");
  CHECK(listener.wait_for(1)[0].id == "id=2");
}

TEST_CASE("A wrong password, a wrong server and a topic without right are told apart") {
  const ServerFolder folder;
  const MqttServer server(folder);
  MqttSettings settings = mqtt(folder, server.port());
  SECTION("password") {
    settings.password = "wrong " + kPassword;
    CHECK_THAT(outcome(*made(settings), message()), StartsWith("again: ") && Contains("authori"));
  }
  SECTION("certificates") {
    settings.certificates_file = folder.file("other-ca.pem");
    CHECK_THAT(outcome(*made(settings), message()),
               StartsWith("again: ") && Contains("certificate"));
  }
  SECTION("topic") {
    settings.topic = "elsewhere/kitchen";
    CHECK_THAT(outcome(*made(settings), message()), StartsWith("never: ") && Contains("uthori"));
  }
  SECTION("size") {
    CHECK(publish_by_mqtt(settings, {"1", "text/html", std::string(3'000'000, 'p'), true}, {})
              .error()
              .code == ErrorCode::invalid_input);
  }
}

TEST_CASE("An MQTT server with another name in its certificate gets nothing") {
  const ServerFolder folder;
  const MqttServer server(folder, "elsewhere");
  CHECK_THAT(outcome(*made(mqtt(folder, server.port())), message()), StartsWith("again: "));
}

TEST_CASE("A server that takes the connection and says nothing costs the time-out") {
  const ServerFolder folder;
  const WebServer server(folder, "-");  // waits for a request line that never ends
  const std::string url = server.url("");
  MqttSettings settings = mqtt(folder, std::stoi(url.substr(url.rfind(':') + 1)));
  settings.tls = false;
  settings.whole = std::chrono::milliseconds(700);
  CHECK_THAT(outcome(*made(settings), message()), StartsWith("timeout: "));
  std::stop_source stop;
  stop.request_stop();
  settings.whole = std::chrono::minutes(10);
  CHECK_THAT(outcome(*made(settings), message(), stop.get_token()), StartsWith("again: "));
}

TEST_CASE("MQTT settings that can't work are refused") {
  const ServerFolder folder;
  const auto refused = [&](auto change) {
    MqttSettings settings = mqtt(folder, 8883);
    change(settings);
    const auto channel = channel_from(settings);
    REQUIRE_FALSE(channel);
    return channel.error().context;
  };
  CHECK_THAT(refused([](auto& s) { s.topic = "site/#"; }), Contains("topic"));
  CHECK_THAT(refused([](auto& s) { s.topic = ""; }), Contains("topic"));
  CHECK_THAT(refused([](auto& s) { s.port = 0; }), Contains("port"));
  CHECK_THAT(refused([](auto& s) {
               s.tls = false;
               s.host = "mqtt.example.org";
             }),
             Contains("this machine alone"));
}
