// The sections of an outlook as lines of text. Internal to the folder, but for
// ready_sentence, which the status says.
#pragma once

#include <string>
#include <vector>

#include "logger/app/outlook/outlook_report.hpp"
#include "logger/app/outlook/texts/shown_values.hpp"

namespace logger::app {

[[nodiscard]] std::string wrap_text(analysis::physics::CartonWrap wrap);

// One labelled paragraph; an empty label continues the one before.
struct OutlookLine {
  std::string label;
  std::string text;
};
struct OutlookSection {
  std::string title;
  std::vector<OutlookLine> lines;
  std::string chart;  // ready to print; empty = none
};

// As last lines, labelled "Not known".
void add_missing(OutlookSection& section, const std::vector<std::string>& missing);

// When dwell and core are expected, or why nothing is said; no full stop.
[[nodiscard]] std::string together_text(const WhenOutlook& when, UtcMicros now);
// The same as whole sentences, for somebody who sees no other line of the outlook.
[[nodiscard]] std::string ready_sentence(const WhenOutlook& when, UtcMicros now);

[[nodiscard]] OutlookSection when_section(const RoomOutlook& room);
[[nodiscard]] OutlookSection heat_section(const RoomOutlook& room, ShownUnits units);
[[nodiscard]] OutlookSection moisture_section(const RoomOutlook& room, ShownUnits units);
// REQUIRES: room.slab.
[[nodiscard]] OutlookSection slab_section(const RoomOutlook& room, ShownUnits units);
// REQUIRES: room.wood_subfloor.
[[nodiscard]] OutlookSection wood_subfloor_section(const RoomOutlook& room);
[[nodiscard]] OutlookSection air_section(const RoomOutlook& room, ShownUnits units);
[[nodiscard]] OutlookSection movement_section(const RoomOutlook& room, ShownUnits units);
[[nodiscard]] OutlookSection uncertainty_section(const RoomOutlook& room, ShownUnits units);

// Why there is no forecast, and what would mend it.
[[nodiscard]] std::string text_of(const analysis::readiness::RefusedForecast& refused);

}  // namespace logger::app
