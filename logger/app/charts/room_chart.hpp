// Charts of a room's climate, stack and slab over the last hours or days, for the page, a message
// or a pushed status. Made from the store alone; cost: one pass over the records of that time.
#pragma once

#include <string>

#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

struct RoomChartQuery {
  std::string room_id;
  std::string chart;  // "climate-temperature", "climate-rh", "core", "slab"
  int hours = 72;     // back from now; 0 = since the delivery, or all there is without one
};
inline constexpr int kMostChartHours = 24 * 3700;

// markup: one <svg> element for an HTML document, colours as classes (Canvas::markup), made for the
// width of a phone; svg and png: a picture of its own, wider.
enum class ChartForm { markup, svg, png };

// The bytes. not_found for an unknown room or chart, or a room without such a sensor; invalid_input
// for hours outside 0..kMostChartHours. A time without readings is drawn as such.
[[nodiscard]] store::Result<std::string> room_chart_from(OpenedJob& opened,
                                                         const RoomChartQuery& query,
                                                         ChartForm form);

}  // namespace logger::app
