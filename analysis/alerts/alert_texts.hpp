// Every sentence an alert says to a person: one line, values with units. The only file to
// translate. REQUIRES of all: the transition is fired or cleared.
#pragma once

#include <string>
#include <string_view>

#include "analysis/alerts/observations.hpp"
#include "analysis/alerts/rules/band_outlook.hpp"

namespace analysis::alerts {

// nullptr where there is none of that id, or no assessment.
[[nodiscard]] const readiness::GateResult* gate_of(const readiness::RoomAssessment* assessment,
                                                   std::string_view id);

// REQUIRES: kind is out_of_band or dwell_reset.
[[nodiscard]] std::string text_from_air(RuleKind kind, Transition transition,
                                        const AirReading& reading);
// REQUIRES: kind is a rule of verdict or gates; ready and no_longer_ready only fire.
[[nodiscard]] std::string text_from_room(RuleKind kind, Transition transition,
                                         const RoomObservation& room);
// Of a rule of the dwell that ends because the floor is laid.
[[nodiscard]] std::string text_from_laid(const std::string& room_id);
[[nodiscard]] std::string text_from_service(Transition transition, const ServiceObservation& room);
[[nodiscard]] std::string text_from_outlook(Transition transition, const std::string& room_id,
                                            const BandOutlook& outlook);

[[nodiscard]] std::string text_from_box(Transition transition, const BoxObservation& box,
                                        UtcMicros now);
// REQUIRES: kind is one of what a box says of itself.
[[nodiscard]] std::string text_from_flag(RuleKind kind, Transition transition,
                                         const BoxObservation& box);
[[nodiscard]] std::string text_from_time_error(Transition transition, const BoxObservation& box,
                                               Micros limit);

[[nodiscard]] std::string text_from_channel(Transition transition,
                                            const ChannelObservation& channel);
[[nodiscard]] std::string text_from_slab(Transition transition, const ChannelObservation& channel,
                                         base::RelativeHumidity rise_per_day);
[[nodiscard]] std::string text_from_calibration(Transition transition,
                                                const ChannelObservation& channel, UtcMicros now);

[[nodiscard]] std::string text_from_disk(Transition transition, const LoggerObservation& logger);
[[nodiscard]] std::string text_from_clock(Transition transition, const LoggerObservation& logger);

}  // namespace analysis::alerts
