// The time a certificate is about.
#pragma once

#include "logger/app/commands/commands.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

// First and last record of the room, where the options name no period. invalid_input where the room
// has no dated readings, or the period runs backwards or ends after now.
[[nodiscard]] store::Result<analysis::base::TimeRange> period_of(OpenedJob& opened,
                                                                 const JobRoom& room,
                                                                 const CertifyOptions& options);

}  // namespace logger::app
