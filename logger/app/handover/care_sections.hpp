// The sections of a care sheet, each made from the same report. Internal to the folder.
#pragma once

#include "logger/app/handover/handover_report.hpp"
#include "logger/app/outlook/texts/shown_values.hpp"

namespace logger::app {

[[nodiscard]] analysis::plan::CareSection laid_section(const RoomHandover& room, ShownUnits units);
[[nodiscard]] analysis::plan::CareSection climate_section(const RoomHandover& room,
                                                          ShownUnits units);
[[nodiscard]] analysis::plan::CareSection service_section(const RoomHandover& room,
                                                          ShownUnits units);
[[nodiscard]] analysis::plan::CareSection care_section();
[[nodiscard]] analysis::plan::CareSection watch_section(const HandoverReport& report);

// "45.0 to 60.0 %RH"
[[nodiscard]] std::string humidity_range_text(const analysis::readiness::ServiceClimate& climate);

}  // namespace logger::app
