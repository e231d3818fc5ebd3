// Where a job's status page goes: what job.json says, with the secrets of the job's folder.
#pragma once

#include <stop_token>
#include <string>

#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

// "https://example.org", "the MQTT server mqtt.example.org": for people, without paths.
[[nodiscard]] std::string name_of_place(const Job& job, const JobStatusPush& push);

// Errors: invalid_input, which names the setting; of a secret's file, also when others may read it;
// unsupported where notify::delivery_left_out().
[[nodiscard]] store::Result<void> check_place(const OpenedJob& opened, const JobStatusPush& push);

// Blocks. Errors: those of check_place, of notify::upload_page, of notify::publish_by_mqtt.
[[nodiscard]] store::Result<void> put_page(const OpenedJob& opened, const JobStatusPush& push,
                                           const std::string& html, const std::stop_token& stop);

}  // namespace logger::app
