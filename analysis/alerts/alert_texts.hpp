// Every sentence an alert says to a person: one line, values with units. The only file to
// translate.
#pragma once

#include <string>

#include "analysis/alerts/alert_rules.hpp"

namespace analysis::alerts {

// REQUIRES: transition is fired, or cleared for out_of_band and dwell_reset; kind is a rule of
// rooms.
[[nodiscard]] std::string text_from_room(RuleKind kind, Transition transition,
                                         const RoomObservation& room);
// REQUIRES: transition is fired or cleared.
[[nodiscard]] std::string text_from_box(Transition transition, const BoxObservation& box,
                                        UtcMicros now);

// REQUIRES: transition is fired or cleared; kind is one of what a box says of itself.
[[nodiscard]] std::string text_from_flag(RuleKind kind, Transition transition,
                                         const BoxObservation& box);
// REQUIRES: transition is fired or cleared.
[[nodiscard]] std::string text_from_channel(Transition transition,
                                            const ChannelObservation& channel);

}  // namespace analysis::alerts
