// What local clocks show, from the machine's time zone database.
#pragma once

#include <string>

#include "analysis/alerts/quiet_hours.hpp"
#include "logger/store/error.hpp"

namespace logger::app {

// invalid_input where the database knows no zone of that name.
[[nodiscard]] store::Result<analysis::alerts::LocalClock> local_clock_from(
    const std::string& time_zone);
// That one, or UTC where the zone is not known; delivery_faults tells it.
[[nodiscard]] analysis::alerts::LocalClock local_clock_or_utc(const std::string& time_zone);

}  // namespace logger::app
