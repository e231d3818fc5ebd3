#include "logger/notify/channels/mqtt_publish.hpp"

#include <mosquitto.h>
#include <mqtt_protocol.h>
#include <poll.h>
#include <sys/socket.h>

#include <cerrno>
#include <cstring>
#include <mutex>
#include <optional>

#include "analysis/base/loopback.hpp"
#include "logger/notify/channels/message_fields.hpp"
#include "logger/transfer/pipe_signal_block.hpp"

namespace logger::notify {

using store::ErrorCode;
using store::failure;

namespace {

constexpr int kKeepAliveSeconds = 30;
constexpr int kLookEveryMs = 100;  // for time-out and stop
constexpr int kRefusal = 0x80;     // reason codes from here on are failures

// What came so far, filled by the library's callbacks on this thread.
struct Progress {
  std::optional<int> connected;     // reason code
  std::optional<int> acknowledged;  // reason code
  std::string complaint;            // of the library, as on TLS
};

Progress& progress_of(void* user) { return *static_cast<Progress*>(user); }

void on_connect(mosquitto* /*client*/, void* user, int reason, int /*flags*/,
                const mosquitto_property* /*properties*/) {
  progress_of(user).connected = reason;
}
void on_publish(mosquitto* /*client*/, void* user, int /*message*/, int reason,
                const mosquitto_property* /*properties*/) {
  progress_of(user).acknowledged = reason;
}
void on_log(mosquitto* /*client*/, void* user, int level, const char* text) {
  if ((level & (MOSQ_LOG_ERR | MOSQ_LOG_WARNING)) != 0) {
    progress_of(user).complaint = text;
  }
}

class Client {
 public:
  explicit Client(const MqttSettings& settings) : settings_(settings) {
    static std::once_flag once;
    std::call_once(once, [] { mosquitto_lib_init(); });
    client_.reset(mosquitto_new(nullptr, true, &progress_));
  }

  Result<void> open();
  Result<void> publish(const MqttPublication& publication);
  // Until `there` says so.
  template <class There>
  Result<void> wait_until(There there, const std::stop_token& stop);
  [[nodiscard]] Result<void> wait_for_connection(const std::stop_token& stop) const;
  void close() {
    mosquitto_disconnect(client_.get());
    mosquitto_loop(client_.get(), 0, 1);
  }
  [[nodiscard]] const Progress& progress() const { return progress_; }
  [[nodiscard]] std::string shown() const {
    return "MQTT server " + settings_.host + ":" + std::to_string(settings_.port);
  }

 private:
  [[nodiscard]] Result<void> still_time(const std::stop_token& stop) const;
  [[nodiscard]] store::Failure library_failure(int code) const {
    const std::string said = code == MOSQ_ERR_ERRNO ? std::string(std::strerror(errno))
                                                    : std::string(mosquitto_strerror(code));
    return failure(
        code == MOSQ_ERR_OVERSIZE_PACKET || code == MOSQ_ERR_PAYLOAD_SIZE ? ErrorCode::invalid_input
                                                                          : ErrorCode::unavailable,
        shown() + ": " + said + (progress_.complaint.empty() ? "" : " " + progress_.complaint));
  }

  struct Destroy {
    void operator()(mosquitto* client) const { mosquitto_destroy(client); }
  };
  const MqttSettings& settings_;
  Progress progress_;
  std::unique_ptr<mosquitto, Destroy> client_;
  std::chrono::steady_clock::time_point deadline_ =
      std::chrono::steady_clock::now() + settings_.whole;
};

Result<void> Client::open() {
  mosquitto* const client = client_.get();
  if (client == nullptr) {
    return failure(ErrorCode::unavailable, shown() + ": no memory for a client");
  }
  mosquitto_int_option(client, MOSQ_OPT_PROTOCOL_VERSION, MQTT_PROTOCOL_V5);
  mosquitto_int_option(client, MOSQ_OPT_TCP_NODELAY, 1);
  mosquitto_connect_v5_callback_set(client, on_connect);
  mosquitto_publish_v5_callback_set(client, on_publish);
  mosquitto_log_callback_set(client, on_log);
  if (!settings_.user.empty()) {
    mosquitto_username_pw_set(client, settings_.user.c_str(), settings_.password.c_str());
  }
  int code = MOSQ_ERR_SUCCESS;
  if (settings_.tls) {
    code = settings_.certificates_file.empty()
               ? mosquitto_int_option(client, MOSQ_OPT_TLS_USE_OS_CERTS, 1)
               : mosquitto_tls_set(client, settings_.certificates_file.c_str(), nullptr, nullptr,
                                   nullptr, nullptr);
  }
  if (code == MOSQ_ERR_SUCCESS) {
    code =
        mosquitto_connect_async(client, settings_.host.c_str(), settings_.port, kKeepAliveSeconds);
  }
  return code == MOSQ_ERR_SUCCESS ? Result<void>{} : library_failure(code);
}

Result<void> Client::still_time(const std::stop_token& stop) const {
  if (stop.stop_requested()) {
    return failure(ErrorCode::unavailable, shown() + ": stopped before it answered");
  }
  if (std::chrono::steady_clock::now() >= deadline_) {
    return failure(ErrorCode::timeout, shown() + ": no acknowledgement within " +
                                           std::to_string(settings_.whole.count()) + " ms");
  }
  return {};
}

// The library (2.0.11) takes a refused connection for one that is still being made.
Result<void> Client::wait_for_connection(const std::stop_token& stop) const {
  pollfd waiting{mosquitto_socket(client_.get()), POLLOUT, 0};
  while (::poll(&waiting, 1, kLookEveryMs) <= 0) {
    if (const auto time = still_time(stop); !time) {
      return time;
    }
  }
  sockaddr_storage peer{};
  socklen_t size = sizeof peer;
  if (::getpeername(waiting.fd, reinterpret_cast<sockaddr*>(&peer), &size) != 0) {
    return failure(ErrorCode::unavailable, shown() + ": no connection");
  }
  return {};
}

template <class There>
Result<void> Client::wait_until(There there, const std::stop_token& stop) {
  while (!there()) {
    if (const auto time = still_time(stop); !time) {
      return time;
    }
    const int code = mosquitto_loop(client_.get(), kLookEveryMs, 1);
    if (code != MOSQ_ERR_SUCCESS && !there()) {
      return library_failure(code);
    }
  }
  return {};
}

Result<void> Client::publish(const MqttPublication& publication) {
  mosquitto_property* properties = nullptr;
  mosquitto_property_add_string_pair(&properties, MQTT_PROP_USER_PROPERTY, "id",
                                     encoded_id(publication.id, "-_.~:/@+").c_str());
  mosquitto_property_add_string(&properties, MQTT_PROP_CONTENT_TYPE,
                                publication.content_type.c_str());
  const int code = mosquitto_publish_v5(
      client_.get(), nullptr, settings_.topic.c_str(), static_cast<int>(publication.payload.size()),
      publication.payload.data(), 1, publication.retain, properties);
  mosquitto_property_free_all(&properties);
  return code == MOSQ_ERR_SUCCESS ? Result<void>{} : library_failure(code);
}

}  // namespace

Result<void> check_mqtt(const MqttSettings& settings) {
  if (settings.host.empty() || settings.port < 1 || settings.port > 65535) {
    return failure(ErrorCode::invalid_input,
                   "MQTT server: expected a host and a port from 1 to 65535");
  }
  if (!settings.tls && !analysis::base::is_loopback(settings.host)) {
    return failure(
        ErrorCode::invalid_input,
        "MQTT server " + settings.host + ": without encryption messages go to this machine alone");
  }
  const auto topic_bytes = settings.topic.size();
  if (topic_bytes == 0 ||
      mosquitto_pub_topic_check2(settings.topic.data(), topic_bytes) != MOSQ_ERR_SUCCESS ||
      mosquitto_validate_utf8(settings.topic.data(), static_cast<int>(topic_bytes)) !=
          MOSQ_ERR_SUCCESS) {
    return failure(ErrorCode::invalid_input,
                   "MQTT topic: expected 1 to 65535 bytes of UTF-8 without + and #");
  }
  return {};
}

Result<void> publish_by_mqtt(const MqttSettings& settings, const MqttPublication& publication,
                             const std::stop_token& stop) {
  const transfer::PipeSignalBlock no_pipe_signal;
  Client client(settings);
  const Progress& progress = client.progress();
  auto done = client.open();
  if (done) {
    done = client.wait_for_connection(stop);
  }
  if (done) {
    done = client.wait_until([&] { return progress.connected.has_value(); }, stop);
  }
  if (done && *progress.connected != 0) {
    done = failure(ErrorCode::unavailable, client.shown() + ": it refuses the connection: " +
                                               mosquitto_reason_string(*progress.connected));
  }
  if (done) {
    done = client.publish(publication);
  }
  if (done) {
    done = client.wait_until([&] { return progress.acknowledged.has_value(); }, stop);
  }
  if (!done) {
    return done;
  }
  client.close();
  if (*progress.acknowledged < kRefusal) {
    return {};
  }
  return failure(*progress.acknowledged == MQTT_RC_QUOTA_EXCEEDED ? ErrorCode::unavailable
                                                                  : ErrorCode::invalid_input,
                 client.shown() + ": it refuses the message: " +
                     mosquitto_reason_string(*progress.acknowledged));
}

}  // namespace logger::notify
