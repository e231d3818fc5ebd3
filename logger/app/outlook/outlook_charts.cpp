// Charts of an outlook as SVG or PNG files.
#include "analysis/drawing/time_chart.hpp"
#include "logger/app/charts/course_curve.hpp"
#include "logger/app/outlook/outlook_report.hpp"
#include "logger/app/outlook/texts/shown_values.hpp"

namespace logger::app {

using analysis::drawing::Canvas;
using analysis::drawing::ChartLine;
using analysis::drawing::ChartStyle;
using analysis::drawing::ChartWords;
using analysis::drawing::DrawError;
using analysis::drawing::Face;
using analysis::drawing::RangeBucket;
using analysis::drawing::Rect;
using analysis::drawing::Size;
using analysis::drawing::TextStyle;
using analysis::drawing::TimeChart;
using store::ErrorCode;
using store::Failure;
using store::Result;

namespace {

constexpr double kWidth = 640.0;  // points
constexpr double kPanelHeight = 230.0;
constexpr double kMargin = 12.0;
constexpr double kTitleHeight = 22.0;
constexpr double kKeyHeight = 20.0;
constexpr double kPixelsPerPoint = 2.0;

struct Picture {
  std::string name;   // of the file, without ending
  std::string title;  // of the whole
  std::vector<TimeChart> panels;
  ChartWords words;
};

TimeChart course_chart(const RoomCourse& course, std::string title, std::string unit) {
  TimeChart chart;
  chart.title = std::move(title);
  chart.unit = std::move(unit);
  chart.from = course.from;
  chart.bucket = course.bucket;
  return chart;
}

std::optional<Picture> stack_picture(const RoomOutlook& room, ShownUnits units) {
  if (!room.course) {
    return std::nullopt;
  }
  const RoomCourse& course = *room.course;
  const auto shown = [units](double celsius) { return shown_celsius(celsius, units); };
  const bool measured = any_value(course.core_measured);
  const CourseCurve& core = measured ? course.core_measured : course.core_computed;
  if (!any_value(core)) {
    return std::nullopt;
  }
  Picture picture{
      "stack-" + room.room_id, room.room_name + ": core of the stack since delivery", {}, {}};
  TimeChart chart =
      course_chart(course, measured ? "Core, measured" : "Core, computed", temperature_unit(units));
  chart.lines.push_back(line_from("core", core, shown));
  ChartLine air = line_from("room air", course.air_celsius, shown);
  air.context = true;
  chart.lines.push_back(std::move(air));
  picture.panels.push_back(std::move(chart));
  if (!measured) {
    picture.words.key_mean = "usual material";
    picture.words.key_range = "fast to slow material";
  }
  return picture;
}

ChartLine slab_line(const SlabProbeOutlook& probe, std::int64_t first, std::int64_t last) {
  ChartLine line{probe.channel_id, {}};
  line.buckets.resize(static_cast<std::size_t>(last - first + 1));
  for (const auto& slot : probe.course) {
    line.buckets[static_cast<std::size_t>(slot.number - first)] =
        RangeBucket{100.0 * slot.low, 100.0 * slot.mean, 100.0 * slot.high};
  }
  return line;
}

std::optional<Picture> slab_picture(const RoomOutlook& room) {
  if (!room.slab) {
    return std::nullopt;
  }
  Picture picture{
      "slab-" + room.room_id, room.room_name + ": slab at depth, half-day means", {}, {}};
  for (const SlabProbeOutlook& probe : room.slab->probes) {
    if (probe.course.empty()) {
      continue;
    }
    const std::int64_t first = probe.course.front().number;
    TimeChart chart;
    chart.title = "RH in the slab, " + probe.channel_id;
    chart.unit = "%RH";
    chart.from = UtcMicros{first * kSlabSlot.count()};
    chart.bucket = kSlabSlot;
    chart.lines.push_back(slab_line(probe, first, probe.course.back().number));
    chart.limit_high = percent_from_rh(room.slab->limit);
    picture.panels.push_back(std::move(chart));
  }
  return picture.panels.empty() ? std::nullopt : std::optional(std::move(picture));
}

void add_excursions(TimeChart& chart, const RoomCourse& course, analysis::base::ChannelRole role) {
  for (std::size_t i = 0; i < course.excursions.size(); ++i) {
    if (course.excursions[i].role == role) {
      chart.excursions.push_back({course.excursions[i].range, std::to_string(i + 1)});
    }
  }
}

std::optional<Picture> air_picture(const RoomOutlook& room, ShownUnits units) {
  if (!room.course || !any_value(room.course->air_celsius) || !any_value(room.course->air_rh)) {
    return std::nullopt;
  }
  const RoomCourse& course = *room.course;
  const auto& band = room.air.band;
  Picture picture{"air-" + room.room_id, room.room_name + ": room air since delivery", {}, {}};
  TimeChart warmth = course_chart(course, "Room air", temperature_unit(units));
  warmth.lines.push_back(line_from(
      "", course.air_celsius, [units](double celsius) { return shown_celsius(celsius, units); }));
  warmth.limit_low = shown_celsius(band.temperature_low.value(), units);
  warmth.limit_high = shown_celsius(band.temperature_high.value(), units);
  warmth.limit_decimals = 1;
  add_excursions(warmth, course, analysis::base::ChannelRole::room_air_temperature);
  picture.panels.push_back(std::move(warmth));
  TimeChart humidity = course_chart(course, "Room air", "%RH");
  humidity.lines.push_back(line_from("", course.air_rh, [](double rh) { return 100.0 * rh; }));
  humidity.limit_low = percent_from_rh(band.rh_low);
  humidity.limit_high = percent_from_rh(band.rh_high);
  humidity.limit_decimals = 1;
  add_excursions(humidity, course, analysis::base::ChannelRole::room_air_rh);
  picture.panels.push_back(std::move(humidity));
  return picture;
}

analysis::base::Result<std::string, DrawError> drawn(const Picture& picture, bool simulated,
                                                     bool svg) {
  const auto panels = static_cast<double>(picture.panels.size());
  const Size size{kWidth, 2.0 * kMargin + kTitleHeight + panels * kPanelHeight + kKeyHeight};
  auto made = svg ? Canvas::svg(size) : Canvas::png(size, kPixelsPerPoint);
  if (!made) {
    return analysis::base::Failure{made.error()};
  }
  Canvas canvas = std::move(made).value();
  canvas.fill_rect({0.0, 0.0, size.width, size.height}, analysis::drawing::kPaper);
  double x = kMargin;
  if (simulated) {
    const TextStyle mark{11.0, Face::bold, analysis::drawing::Align::left,
                         analysis::drawing::kAlarm};
    x += canvas.text({x, kMargin}, "SIMULATED SITE", mark, analysis::drawing::kNoWrap).width + 10.0;
  }
  canvas.text({x, kMargin}, picture.title, {11.0, Face::bold}, size.width - kMargin - x);
  const ChartStyle style{9.0, true};
  double y = kMargin + kTitleHeight;
  for (const TimeChart& panel : picture.panels) {
    const Rect area{kMargin, y, size.width - 2.0 * kMargin, kPanelHeight - 10.0};
    draw_time_chart(canvas, panel, area, style, picture.words);
    y += kPanelHeight;
  }
  draw_chart_key(canvas, {kMargin, y}, analysis::drawing::kNoWrap, style, picture.words);
  return canvas.finish();
}

std::vector<Picture> pictures_of(const OutlookReport& report, ShownUnits units) {
  std::vector<Picture> pictures;
  for (const RoomOutlook& room : report.rooms) {
    for (auto& picture :
         {stack_picture(room, units), slab_picture(room), air_picture(room, units)}) {
      if (picture) {
        pictures.push_back(*picture);
      }
    }
  }
  return pictures;
}

}  // namespace

Result<std::vector<std::filesystem::path>> write_outlook_charts(const OutlookReport& report,
                                                                const ChartFiles& files,
                                                                bool imperial) {
  std::vector<std::filesystem::path> written;
  const std::vector<Picture> pictures = pictures_of(report, {imperial});
  std::error_code error;
  std::filesystem::create_directories(files.folder, error);
  if (error) {
    return store::failure(ErrorCode::io, "cannot make " + files.folder.string());
  }
  for (const Picture& picture : pictures) {
    written.push_back(files.folder / (picture.name + (files.svg ? ".svg" : ".png")));
    if (std::filesystem::exists(written.back(), error)) {
      return store::failure(ErrorCode::invalid_input,
                            written.back().string() + " is there already; name another folder");
    }
  }
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    const auto bytes = drawn(pictures[i], report.simulated, files.svg);
    if (!bytes) {
      return store::failure(ErrorCode::unavailable, std::string(text_of(bytes.error())));
    }
    const auto done = write_file(written[i], bytes.value(), 0644);
    if (!done) {
      return Failure{done.error()};
    }
  }
  return written;
}

}  // namespace logger::app
