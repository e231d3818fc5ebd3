// Draws a value over time (UTC): mean as a line, lowest to highest as a band around it, limits as
// dashed lines with their values in the margin, the allowed band tinted, time without data hatched,
// excursions barred, dotted and numbered. Nothing depends on colour alone. Thread contract: as
// Canvas.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "analysis/drawing/axis.hpp"
#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/chart_geometry.hpp"

namespace analysis::drawing {

// The words in a chart, English by default.
struct ChartWords {
  std::string no_data = "no data";
  std::string nothing_recorded = "nothing was recorded";
  std::string at_most = "max";
  std::string at_least = "min";
  std::string key_mean = "mean";
  std::string key_range = "lowest to highest";
  std::string key_limit = "limit";
  std::string key_allowed = "allowed";
  std::string key_excursion = "out of limits";
  MonthNames months = kEnglishMonths;
};

struct ChartStyle {
  double text_size = 7.0;
  bool time_labels = true;  // off for all but the lowest of charts that share their time axis
  bool legend = true;       // of several lines, beside the title; off where it stands elsewhere
};

// Fills `area`: title above, value labels left, limits right, time below.
void draw_time_chart(Canvas& canvas, const TimeChart& chart, const Rect& area,
                     const ChartStyle& style, const ChartWords& words);

// Height that the title, the row of labels above and the time below the plot take.
[[nodiscard]] double room_around_plot(const Canvas& canvas, const TimeChart& chart,
                                      const ChartStyle& style);

// One sign of a chart and what it stands for.
struct ChartSign {
  std::string meaning;
  std::function<void(Canvas&, const Rect&)> draw;  // fills the rectangle
};
// Of each line, by its label.
[[nodiscard]] std::vector<ChartSign> line_signs(const TimeChart& chart);
// Of what every chart holds.
[[nodiscard]] std::vector<ChartSign> chart_signs(const ChartWords& words);

// Explains the signs, in rows that are no wider than `width` (kNoWrap: one row). Returns the height
// of the rows.
double draw_chart_key(Canvas& canvas, Point top_left, double width, const ChartStyle& style,
                      const ChartWords& words);
[[nodiscard]] double chart_key_height(const Canvas& canvas, double width, const ChartStyle& style,
                                      const ChartWords& words);

// One chart with its key. In an SVG the text is outlines, and ids are unique within the file only:
// show it as an image rather than pasting two into one document.
[[nodiscard]] base::Result<std::string, DrawError> draw_time_chart_svg(
    const TimeChart& chart, Size size, const ChartWords& words = {});
[[nodiscard]] base::Result<std::string, DrawError> draw_time_chart_png(
    const TimeChart& chart, Size size, double pixels_per_point, const ChartWords& words = {});

}  // namespace analysis::drawing
