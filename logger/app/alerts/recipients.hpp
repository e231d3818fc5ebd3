// Those whom a job tells, and the way to each.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "analysis/alerts/telling_policy.hpp"
#include "logger/app/job/job.hpp"
#include "logger/notify/channel.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

// Those of the job file, and "command" for its short way; in that order.
[[nodiscard]] std::vector<JobRecipient> recipients_of(const JobAlerts& alerts);
[[nodiscard]] analysis::alerts::TellingRules telling_rules_from(const JobAlerts& alerts);

// Reads the secrets it needs from the job's folder. Errors: those of read_secret_file and of
// notify::channel_from, with the recipient named.
[[nodiscard]] store::Result<std::unique_ptr<notify::Channel>> channel_for(
    const JobRecipient& recipient, const JobAlerts& alerts, const std::string& folder);

}  // namespace logger::app
