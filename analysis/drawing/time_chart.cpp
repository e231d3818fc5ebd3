#include "analysis/drawing/time_chart.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace analysis::drawing {
namespace {

constexpr double kHatchSpacing = 4.0;
constexpr double kDotSpacing = 2.6;
constexpr double kBarHeight = 2.6;
constexpr double kNarrowest = 1.6;  // of a gap or an excursion, so that short ones are seen
constexpr double kMeanWidth = 1.3;
constexpr double kSmall = 0.92;  // of the text size, for labels
constexpr int kMostValueSteps = 5;
constexpr double kSignWidth = 16.0;  // of the key
constexpr double kSignGap = 4.0;
constexpr double kEntryGap = 13.0;

const Pen kGrid{kRule, 0.5, Dash::solid};
const Pen kFrame{kContext, 0.7, Dash::solid};
const Pen kHatch{kContext, 0.5, Dash::solid};
const Pen kLimit{kInk, 0.9, Dash::dashed};

Pen mean_pen(const ChartLine& line, std::size_t subject_rank) {
  if (line.context) {
    return Pen{kContext, 0.8, Dash::solid};
  }
  const std::array<Dash, 3> dashes{Dash::solid, Dash::dashed, Dash::dotted};
  return Pen{kCurve, kMeanWidth, dashes[subject_rank % dashes.size()]};
}

Rect strip_from(const ChartScale& scale, const base::TimeRange& range) {
  const double left = std::clamp(scale.x_of(range.from), scale.plot.x, scale.plot.right());
  const double right = std::clamp(scale.x_of(range.to), scale.plot.x, scale.plot.right());
  const double width = std::max(right - left, kNarrowest);
  const double x = std::min(left, scale.plot.right() - width);
  return {x, scale.plot.y, width, scale.plot.height};
}

double line_height_of(const Canvas& canvas, const ChartStyle& style) {
  return canvas.measure("0", TextStyle{style.text_size * kSmall, Face::regular}, kNoWrap).height;
}

// The row of labels above the plot is the title's where there are no excursions.
double header_height(const Canvas& canvas, const TimeChart& chart, const ChartStyle& style) {
  return style.text_size * 1.65 + (chart.excursions.empty() ? 1.0 : line_height_of(canvas, style));
}

double footer_height(const Canvas& canvas, const ChartStyle& style) {
  return style.time_labels ? line_height_of(canvas, style) + 3.0 : 2.0;
}

class Panel {
 public:
  Panel(Canvas& canvas, const TimeChart& chart, const Rect& area, const ChartStyle& style,
        const ChartWords& words)
      : canvas_(canvas),
        chart_(chart),
        area_(area),
        style_(style),
        words_(words),
        small_{style.text_size * kSmall, Face::regular, Align::left, kQuiet},
        line_height_(line_height_of(canvas, style)) {
    const double header = header_height(canvas, chart, style);
    const double footer = footer_height(canvas, style);
    const double left = style.text_size * 4.2;
    const double right = style.text_size * 8.6;
    const Rect plot{area.x + left, area.y + header, area.width - left - right,
                    area.height - header - footer};
    const int steps =
        std::clamp(static_cast<int>(plot.height / (line_height_ * 1.5)), 2, kMostValueSteps);
    scale_ = scale_from(chart, plot, steps);
  }

  void draw() {
    draw_header();
    draw_allowed();
    draw_grid();
    draw_ranges();
    draw_excursions();
    draw_limits();
    draw_means();
    draw_excursion_bars();
    draw_unrecorded();
    canvas_.stroke_rect(scale_.plot, kFrame);
  }

  void draw_nothing() {
    draw_header();
    canvas_.stroke_rect(scale_.plot, kFrame);
    TextStyle style = small_;
    style.align = Align::centre;
    canvas_.text({scale_.plot.x, scale_.plot.y + (scale_.plot.height - line_height_) / 2.0},
                 words_.nothing_recorded, style, scale_.plot.width);
  }

 private:
  void draw_header() {
    const TextStyle bold{style_.text_size * 1.12, Face::bold, Align::left, kInk};
    const double width = canvas_.text({area_.x, area_.y}, chart_.title, bold, kNoWrap).width;
    const TextStyle unit{style_.text_size, Face::regular, Align::left, kQuiet};
    const double unit_width = canvas_
                                  .text({area_.x + width + 4.0, area_.y + style_.text_size * 0.14},
                                        chart_.unit, unit, kNoWrap)
                                  .width;
    if (chart_.excursions.empty()) {
      above_.push_back({area_.x, area_.x + width + 4.0 + unit_width});
    }
    if (chart_.lines.size() > 1 && style_.legend) {
      draw_legend();
    }
  }

  // From the right end, so that it stays clear of the title.
  void draw_legend() {
    double x = scale_.plot.right();
    std::size_t subject = subject_count();
    for (auto line = chart_.lines.rbegin(); line != chart_.lines.rend(); ++line) {
      const double width = canvas_.measure(line->label, small_, kNoWrap).width;
      const double y = area_.y + style_.text_size * 0.2;
      canvas_.text({x - width, y}, line->label, small_, kNoWrap);
      x -= width + 4.0;
      const double middle = y + line_height_ / 2.0;
      subject -= line->context ? 0 : 1;
      canvas_.line({x - 18.0, middle}, {x, middle}, mean_pen(*line, subject));
      x -= 18.0 + 10.0;
    }
    if (chart_.excursions.empty()) {
      above_.push_back({x, scale_.plot.right()});
    }
  }

  [[nodiscard]] std::size_t subject_count() const {
    return static_cast<std::size_t>(
        std::count_if(chart_.lines.begin(), chart_.lines.end(),
                      [](const ChartLine& line) { return !line.context; }));
  }

  void draw_allowed() {
    if (!chart_.limit_low && !chart_.limit_high) {
      return;
    }
    const double top = chart_.limit_high ? scale_.y_of(*chart_.limit_high) : scale_.plot.y;
    const double bottom = chart_.limit_low ? scale_.y_of(*chart_.limit_low) : scale_.plot.bottom();
    canvas_.fill_rect({scale_.plot.x, top, scale_.plot.width, bottom - top}, kAllowed);
  }

  void draw_grid() {
    TextStyle right_aligned = small_;
    right_aligned.align = Align::right;
    const double label_width = scale_.plot.x - area_.x - 4.0;
    for (const double value : ticks_of(scale_.axis)) {
      const double y = scale_.y_of(value);
      canvas_.line({scale_.plot.x, y}, {scale_.plot.right(), y}, kGrid);
      canvas_.text({area_.x, y - line_height_ / 2.0}, number_text(value, scale_.axis.decimals),
                   right_aligned, label_width);
    }
    const double label_room = style_.text_size * 6.0;
    for (const TimeTick& tick :
         time_ticks(scale_.span, scale_.plot.width, label_room, words_.months)) {
      draw_time_tick(tick);
    }
  }

  void draw_time_tick(const TimeTick& tick) {
    const double x = scale_.x_of(tick.at);
    const double bottom = scale_.plot.bottom();
    if (tick.label.empty()) {
      canvas_.line({x, bottom - 2.0}, {x, bottom}, kFrame);
      return;
    }
    canvas_.line({x, scale_.plot.y}, {x, bottom}, kGrid);
    if (style_.time_labels) {
      const double width = canvas_.measure(tick.label, small_, kNoWrap).width;
      canvas_.line({x, bottom}, {x, bottom + 2.0}, kFrame);
      canvas_.text({x - width / 2.0, bottom + 2.5}, tick.label, small_, kNoWrap);
    }
  }

  void draw_ranges() {
    for (const ChartLine& line : chart_.lines) {
      if (!line.context) {
        for (const auto& outline : range_outlines(chart_, line, scale_)) {
          canvas_.fill_polygon(outline, kCurveRange);
        }
      }
    }
  }

  void draw_excursions() {
    for (const ChartMark& mark : chart_.excursions) {
      canvas_.stipple(strip_from(scale_, mark.range), kAlarm, kDotSpacing);
    }
  }

  // Bars over everything else in the plot, their numbers above it.
  void draw_excursion_bars() {
    const TextStyle style{small_.size, Face::bold, Align::left, kAlarm};
    for (const ChartMark& mark : chart_.excursions) {
      const Rect strip = strip_from(scale_, mark.range);
      canvas_.fill_rect({strip.x, strip.y - kBarHeight / 2.0, strip.width, kBarHeight}, kAlarm);
      label_above(strip, mark.label, style);
    }
  }

  // Left out where it would touch another label or the title.
  void label_above(const Rect& strip, const std::string& label, const TextStyle& style) {
    const double width = canvas_.measure(label, style, kNoWrap).width;
    const double from = strip.x + strip.width / 2.0 - width / 2.0;
    const double to = from + width;
    const bool taken = std::any_of(above_.begin(), above_.end(), [&](const Stretch& other) {
      return from < other.to + 2.0 && to > other.from - 2.0;
    });
    if (taken || to > area_.right()) {
      return;
    }
    canvas_.text({from, strip.y - line_height_ - 0.8}, label, style, kNoWrap);
    above_.push_back({from, to});
  }

  void draw_limits() {
    std::vector<double> values;
    std::vector<std::string> labels;
    std::vector<double> centres;
    const auto take = [&](const std::optional<double>& limit, const std::string& word) {
      if (limit) {
        values.push_back(*limit);
        labels.push_back(word + " " + number_text(*limit, chart_.limit_decimals) + " " +
                         chart_.unit);
        centres.push_back(scale_.y_of(*limit));
      }
    };
    take(chart_.limit_high, words_.at_most);
    take(chart_.limit_low, words_.at_least);
    centres = spread_labels(centres, line_height_, scale_.plot.y - 4.0, scale_.plot.bottom() + 4.0);
    const TextStyle style{style_.text_size, Face::bold, Align::left, kInk};
    for (std::size_t i = 0; i < values.size(); ++i) {
      const double y = scale_.y_of(values[i]);
      canvas_.line({scale_.plot.x, y}, {scale_.plot.right(), y}, kLimit);
      canvas_.line({scale_.plot.right(), y}, {scale_.plot.right() + 4.0, centres[i]},
                   Pen{kInk, 0.6, Dash::solid});
      canvas_.text({scale_.plot.right() + 6.0, centres[i] - style_.text_size * 0.58}, labels[i],
                   style, kNoWrap);
    }
  }

  void draw_means() {
    std::size_t subject = subject_count();
    // Context first, the subject last and on top.
    for (auto line = chart_.lines.rbegin(); line != chart_.lines.rend(); ++line) {
      subject -= line->context ? 0 : 1;
      for (const auto& path : mean_paths(chart_, *line, scale_)) {
        canvas_.polyline(path, mean_pen(*line, subject));
      }
    }
  }

  void draw_unrecorded() {
    for (const base::TimeRange& range : unrecorded_time(chart_)) {
      if (range.to <= scale_.span.from || range.from >= scale_.span.to) {
        continue;
      }
      const Rect strip = strip_from(scale_, range);
      canvas_.fill_rect(strip, kPaper);
      canvas_.hatch(strip, kHatch, kHatchSpacing);
      canvas_.line({strip.x, strip.y}, {strip.x, strip.bottom()}, kHatch);
      canvas_.line({strip.right(), strip.y}, {strip.right(), strip.bottom()}, kHatch);
      label_strip(strip);
    }
  }

  void label_strip(const Rect& strip) {
    const TextStyle style{small_.size, Face::regular, Align::left, kInk};
    const double width = canvas_.measure(words_.no_data, style, kNoWrap).width;
    const Point centre{strip.x + strip.width / 2.0, strip.y + strip.height / 2.0};
    const bool across = strip.width >= width + 6.0;
    const bool upright = !across && strip.width >= line_height_ && strip.height >= width + 6.0;
    if (!across && !upright) {
      label_above(strip, words_.no_data, style);
      return;
    }
    const double half_width = (across ? width + 4.0 : line_height_) / 2.0;
    const double half_height = (across ? line_height_ : width + 4.0) / 2.0;
    canvas_.fill_rect(
        {centre.x - half_width, centre.y - half_height, 2.0 * half_width, 2.0 * half_height},
        kPaper);
    canvas_.turned_text(centre, across ? 0.0 : 90.0, words_.no_data, style);
  }

  Canvas& canvas_;
  const TimeChart& chart_;
  Rect area_;
  ChartStyle style_;
  const ChartWords& words_;
  TextStyle small_;
  double line_height_;
  ChartScale scale_;
  struct Stretch {
    double from;
    double to;
  };
  std::vector<Stretch> above_;  // of the row above the plot, taken by labels
};

TextStyle key_text(const ChartStyle& style) {
  return {style.text_size * kSmall, Face::regular, Align::left, kQuiet};
}

// Where each sign of the key stands, from the key's top left.
struct KeyLayout {
  std::vector<Point> places;
  double row = 0.0;     // height of one
  double height = 0.0;  // of all
};

KeyLayout key_layout(const Canvas& canvas, double width, const ChartStyle& style,
                     const ChartWords& words) {
  const TextStyle text = key_text(style);
  KeyLayout layout;
  layout.row = canvas.measure("0", text, kNoWrap).height;
  Point at{0.0, 0.0};
  for (const ChartSign& sign : chart_signs(words)) {
    const double entry = kSignWidth + kSignGap + canvas.measure(sign.meaning, text, kNoWrap).width;
    if (width > 0.0 && at.x > 0.0 && at.x + entry > width) {
      at = {0.0, at.y + layout.row};
    }
    layout.places.push_back(at);
    at.x += entry + kEntryGap;
  }
  layout.height = at.y + layout.row;
  return layout;
}

auto drawn_across(const Pen& pen) {
  return [pen](Canvas& canvas, const Rect& sign) {
    const double y = sign.y + sign.height / 2.0;
    canvas.line({sign.x, y}, {sign.right(), y}, pen);
  };
}

base::Result<std::string, DrawError> finished(base::Result<Canvas, DrawError> made,
                                              const TimeChart& chart, const ChartWords& words) {
  if (!made) {
    return base::Failure{made.error()};
  }
  Canvas canvas = std::move(made).value();
  const Size size = canvas.size();
  const ChartStyle style{.text_size = 9.0};
  constexpr double kMargin = 8.0;
  canvas.fill_rect({0.0, 0.0, size.width, size.height}, kPaper);
  const double width = size.width - 2.0 * kMargin;
  const double key_height = chart_key_height(canvas, width, style, words);
  const double key_room = std::max(style.text_size * 2.0, key_height + 4.0);
  draw_time_chart(canvas, chart, {kMargin, kMargin, width, size.height - 2.0 * kMargin - key_room},
                  style, words);
  draw_chart_key(canvas, {kMargin, size.height - kMargin - key_room + 4.0}, width, style, words);
  return canvas.finish();
}

}  // namespace

void draw_time_chart(Canvas& canvas, const TimeChart& chart, const Rect& area,
                     const ChartStyle& style, const ChartWords& words) {
  Panel panel(canvas, chart, area, style, words);
  const base::TimeRange span = span_of(chart);
  const bool any = std::any_of(chart.lines.begin(), chart.lines.end(), [&](const ChartLine& line) {
    return !recorded_runs(chart, line).empty();
  });
  if (span.to <= span.from || !any) {
    panel.draw_nothing();
  } else {
    panel.draw();
  }
}

double room_around_plot(const Canvas& canvas, const TimeChart& chart, const ChartStyle& style) {
  return header_height(canvas, chart, style) + footer_height(canvas, style);
}

std::vector<ChartSign> line_signs(const TimeChart& chart) {
  std::vector<ChartSign> signs;
  std::size_t subject = 0;
  for (const ChartLine& line : chart.lines) {
    const Pen pen = mean_pen(line, subject);
    subject += line.context ? 0 : 1;
    signs.push_back({line.label, drawn_across(pen)});
  }
  return signs;
}

std::vector<ChartSign> chart_signs(const ChartWords& words) {
  return {{words.key_mean, drawn_across(Pen{kCurve, kMeanWidth, Dash::solid})},
          {words.key_range,
           [](Canvas& canvas, const Rect& sign) { canvas.fill_rect(sign, kCurveRange); }},
          {words.key_limit, drawn_across(kLimit)},
          {words.key_allowed,
           [](Canvas& canvas, const Rect& sign) {
             canvas.fill_rect(sign, kAllowed);
             canvas.stroke_rect(sign, kGrid);
           }},
          {words.no_data,
           [](Canvas& canvas, const Rect& sign) {
             canvas.hatch(sign, kHatch, kHatchSpacing);
             canvas.stroke_rect(sign, kHatch);
           }},
          {words.key_excursion, [](Canvas& canvas, const Rect& sign) {
             canvas.stipple(sign, kAlarm, kDotSpacing);
             canvas.fill_rect({sign.x, sign.y - kBarHeight / 2.0, sign.width, kBarHeight}, kAlarm);
           }}};
}

double draw_chart_key(Canvas& canvas, Point top_left, double width, const ChartStyle& style,
                      const ChartWords& words) {
  const TextStyle text = key_text(style);
  const KeyLayout layout = key_layout(canvas, width, style, words);
  std::size_t number = 0;
  for (const ChartSign& sign : chart_signs(words)) {
    const Point at{top_left.x + layout.places[number].x, top_left.y + layout.places[number].y};
    sign.draw(canvas, {at.x, at.y + layout.row * 0.12, kSignWidth, layout.row * 0.76});
    canvas.text({at.x + kSignWidth + kSignGap, at.y}, sign.meaning, text, kNoWrap);
    ++number;
  }
  return layout.height;
}

double chart_key_height(const Canvas& canvas, double width, const ChartStyle& style,
                        const ChartWords& words) {
  return key_layout(canvas, width, style, words).height;
}

base::Result<std::string, DrawError> draw_time_chart_svg(const TimeChart& chart, Size size,
                                                         const ChartWords& words) {
  return finished(Canvas::svg(size), chart, words);
}

base::Result<std::string, DrawError> draw_time_chart_png(const TimeChart& chart, Size size,
                                                         double pixels_per_point,
                                                         const ChartWords& words) {
  return finished(Canvas::png(size, pixels_per_point), chart, words);
}

}  // namespace analysis::drawing
