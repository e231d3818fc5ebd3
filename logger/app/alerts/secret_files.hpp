// What ways out need from files of the job's folder, and the broker's settings, which recipients
// and pushed pages share.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "logger/app/job/job.hpp"
#include "logger/notify/channels/mqtt_publish.hpp"

namespace logger::app {

// Files by their names; an empty name is none. Keeps the first failure, and gives nothing from then
// on.
class SecretFiles {
 public:
  explicit SecretFiles(std::filesystem::path folder) : folder_(std::move(folder)) {}
  // Of certificates, which are not read here; not_found where there is no such file.
  [[nodiscard]] std::string path_of(const std::string& name);
  // The one line of a file that its owner alone may read.
  [[nodiscard]] std::string secret_of(const std::string& name);
  [[nodiscard]] const std::optional<store::Error>& fault() const { return fault_; }

 private:
  std::filesystem::path folder_;
  std::optional<store::Error> fault_;
};

// `topic` lies below the server's.
[[nodiscard]] notify::MqttSettings mqtt_settings_from(const JobMqttServer& server,
                                                      const std::string& topic, SecretFiles& files);

}  // namespace logger::app
