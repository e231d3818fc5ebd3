#include "logger/app/push/push_places.hpp"

#include <variant>

#include "analysis/evidence/signing_key.hpp"
#include "logger/app/commands/keys/passphrase.hpp"
#include "logger/notify/channels/mqtt_publish.hpp"
#include "logger/notify/channels/page_upload.hpp"

namespace logger::app {

using store::ErrorCode;
using store::Failure;
using store::failure;
using store::Result;

namespace {

constexpr const char* kPageTopic = "status";  // below the server's prefix
constexpr const char* kPageType = "text/html; charset=utf-8";

using Place = std::variant<notify::UploadSettings, notify::MqttSettings>;

std::string file_in(const JobFolder& folder, const std::string& name) {
  return name.empty() ? std::string() : (folder.root / name).string();
}

// The one line of a file that its owner alone may read; empty where none is named.
Result<std::string> secret_in(const JobFolder& folder, const std::string& name) {
  return name.empty() ? Result<std::string>(std::string()) : read_secret_line(folder.root / name);
}

Result<Place> mqtt_place(const OpenedJob& opened) {
  if (!opened.job.alerts.mqtt_server) {
    return failure(ErrorCode::invalid_input,
                   "status push: it has no url, and alerts has no mqtt_server");
  }
  const JobMqttServer& server = *opened.job.alerts.mqtt_server;
  auto password = secret_in(opened.folder, server.password_file);
  if (!password) {
    return Failure{password.error()};
  }
  notify::MqttSettings settings;
  settings.host = server.host;
  settings.port = server.port;
  settings.tls = server.tls;
  settings.user = server.user;
  settings.password = std::move(password).value();
  settings.certificates_file = file_in(opened.folder, server.certificates);
  settings.topic = server.topic.empty() ? kPageTopic : server.topic + "/" + kPageTopic;
  settings.whole = std::chrono::seconds(60);
  const auto checked = check_mqtt(settings);
  return checked ? Result<Place>(std::move(settings)) : Failure{checked.error()};
}

Result<Place> place_of(const OpenedJob& opened, const JobStatusPush& push) {
  if (!notify::delivery_left_out().empty()) {
    return failure(ErrorCode::unsupported,
                   "status push: " + std::string(notify::delivery_left_out()));
  }
  if (push.url.empty()) {
    return mqtt_place(opened);
  }
  auto password = secret_in(opened.folder, push.password_file);
  if (!password) {
    return Failure{password.error()};
  }
  notify::UploadSettings settings;
  settings.url = push.url;
  settings.user = push.user;
  settings.password = std::move(password).value();
  settings.host_key_sha256 = push.host_key_sha256;
  settings.certificates_file = file_in(opened.folder, push.certificates);
  settings.key_file = file_in(opened.folder, push.key_file);
  if (!settings.key_file.empty()) {
    auto key = read_secret_file(settings.key_file);
    if (!key) {
      return Failure{key.error()};
    }
    analysis::evidence::wipe(key.value());
  }
  const auto checked = check_upload(settings);
  return checked ? Result<Place>(std::move(settings)) : Failure{checked.error()};
}

}  // namespace

std::string name_of_place(const Job& job, const JobStatusPush& push) {
  if (push.url.empty()) {
    return "the MQTT server" + (job.alerts.mqtt_server ? " " + job.alerts.mqtt_server->host : "");
  }
  const auto host = push.url.find("://");
  return push.url.substr(0, push.url.find('/', host == std::string::npos ? 0 : host + 3));
}

Result<void> check_place(const OpenedJob& opened, const JobStatusPush& push) {
  const auto place = place_of(opened, push);
  return place ? Result<void>{} : Failure{place.error()};
}

Result<void> put_page(const OpenedJob& opened, const JobStatusPush& push, const std::string& html,
                      const std::stop_token& stop) {
  const auto place = place_of(opened, push);
  if (!place) {
    return Failure{place.error()};
  }
  if (const auto* upload = std::get_if<notify::UploadSettings>(&place.value())) {
    return notify::upload_page(*upload, {kPageType, html}, stop);
  }
  return notify::publish_by_mqtt(
      std::get<notify::MqttSettings>(place.value()),
      {"status-" + std::to_string(opened.now.value), kPageType, html, true}, stop);
}

}  // namespace logger::app
