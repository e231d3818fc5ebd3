#include "logger/app/push/push_places.hpp"

#include <variant>

#include "analysis/evidence/signing_key.hpp"
#include "logger/app/alerts/secret_files.hpp"
#include "logger/app/commands/keys/passphrase.hpp"
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

Result<Place> mqtt_place(const OpenedJob& opened) {
  if (!opened.job.alerts.mqtt_server) {
    return failure(ErrorCode::invalid_input,
                   "status push: it has no url, and alerts has no mqtt_server");
  }
  SecretFiles files(opened.folder.root);
  auto settings = mqtt_settings_from(*opened.job.alerts.mqtt_server, kPageTopic, files);
  if (files.fault()) {
    return Failure{*files.fault()};
  }
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
  SecretFiles files(opened.folder.root);
  notify::UploadSettings settings;
  settings.url = push.url;
  settings.user = push.user;
  settings.password = files.secret_of(push.password_file);
  settings.host_key_sha256 = push.host_key_sha256;
  settings.certificates_file = files.path_of(push.certificates);
  if (files.fault()) {
    return Failure{*files.fault()};
  }
  if (!push.key_file.empty()) {
    settings.key_file = (opened.folder.root / push.key_file).string();
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
