#include "logger/app/alerts/secret_files.hpp"

#include "logger/app/commands/keys/passphrase.hpp"

namespace logger::app {

std::string SecretFiles::path_of(const std::string& name) {
  if (name.empty()) {
    return {};
  }
  const std::filesystem::path file = folder_ / name;
  std::error_code error;
  if (!fault_ && !std::filesystem::exists(file, error)) {
    fault_ = store::Error{store::ErrorCode::not_found,
                          "certificates file " + file.string() + ": there is no such file"};
  }
  return file.string();
}

std::string SecretFiles::secret_of(const std::string& name) {
  if (name.empty() || fault_) {
    return {};
  }
  auto secret = read_secret_line(folder_ / name);
  if (!secret) {
    fault_ = secret.error();
    return {};
  }
  return std::move(secret).value();
}

notify::MqttSettings mqtt_settings_from(const JobMqttServer& server, const std::string& topic,
                                        SecretFiles& files) {
  notify::MqttSettings mqtt;
  mqtt.host = server.host;
  mqtt.port = server.port;
  mqtt.tls = server.tls;
  mqtt.user = server.user;
  mqtt.password = files.secret_of(server.password_file);
  mqtt.certificates_file = files.path_of(server.certificates);
  mqtt.topic = server.topic.empty() ? topic : server.topic + "/" + topic;
  return mqtt;
}

}  // namespace logger::app
