// What a certificate says that does not come out of the readings: the job file, what people noted,
// what was lost. Reads nothing but its arguments.
#pragma once

#include <vector>

#include "analysis/certificate/facts.hpp"
#include "logger/app/commands/job_folder.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

// Notes made of later than `until` do not count. Number, issue and period are left to the caller.
[[nodiscard]] analysis::certificate::CertificateFacts declared_facts(
    const OpenedJob& opened, const JobRoom& room, const JobRecords& records,
    const std::vector<store::Gap>& gaps, UtcMicros until);

}  // namespace logger::app
