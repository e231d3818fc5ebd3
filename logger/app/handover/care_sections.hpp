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
[[nodiscard]] analysis::plan::CareSection care_section(const RoomHandover& room);
[[nodiscard]] analysis::plan::CareSection watch_section(const HandoverReport& report,
                                                        const RoomHandover& room);

struct LengthRange {
  analysis::base::Metres low;
  analysis::base::Metres high;
};
// A figure with a usual board and with the floor's own coefficient, the smaller first.
[[nodiscard]] LengthRange range_of(
    const analysis::readiness::MovementPair& moved,
    analysis::base::Metres analysis::readiness::ServiceMovement::*figure);
// The same of what one panel shrinks; nullopt where its size is not known.
[[nodiscard]] std::optional<LengthRange> panel_range(
    const analysis::readiness::MovementPair& moved);
// "1.6 mm to 3.3 mm", or one figure where both read alike.
[[nodiscard]] std::string range_text(const LengthRange& range, ShownUnits units);
[[nodiscard]] bool shows_nothing(analysis::base::Metres length, ShownUnits units);

}  // namespace logger::app
