#include "logger/app/charts/room_chart.hpp"

#include <algorithm>
#include <array>
#include <map>

#include "analysis/drawing/time_chart.hpp"
#include "analysis/readiness/excursion_log.hpp"
#include "logger/app/charts/course_curve.hpp"
#include "logger/app/room/channel_value.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

using analysis::base::ChannelRole;
using analysis::base::TimeRange;
using analysis::drawing::Canvas;
using analysis::drawing::ChartStyle;
using analysis::drawing::ChartWords;
using analysis::drawing::Rect;
using analysis::drawing::Size;
using analysis::drawing::TimeChart;
using analysis::readiness::ChannelSetup;
using analysis::readiness::DwellSample;
using analysis::readiness::ExcursionLog;
using analysis::readiness::RoomSetup;
using analysis::readiness::StillCount;
using store::ErrorCode;
using store::Failure;
using store::failure;
using store::Result;

namespace {

constexpr std::int64_t kMostBuckets = 240;    // about one for each 1.5 points of the narrow form
constexpr std::int64_t kSamplesInBucket = 2;  // at least, so that jitter makes no gap

struct ChartKind {
  std::string_view name;
  std::string_view title;
  ChannelRole role;     // of its subject
  ChannelRole context;  // of a curve beside it; the same = none
};
constexpr std::array<ChartKind, 4> kKinds{
    {{"climate-temperature", "Room air temperature", ChannelRole::room_air_temperature,
      ChannelRole::room_air_temperature},
     {"climate-rh", "Room air humidity", ChannelRole::room_air_rh, ChannelRole::room_air_rh},
     {"core", "Core of the stack", ChannelRole::stack_core_temperature,
      ChannelRole::room_air_temperature},
     {"slab", "Humidity in the slab", ChannelRole::slab_rh, ChannelRole::slab_rh}}};

struct Drawn {
  const ChartKind* kind = nullptr;
  const JobRoom* room = nullptr;
  RoomSetup setup;
  TimeRange span;
};

bool is_of(const ChannelSetup& channel, const ChartKind& kind) {
  return channel.scale.role == kind.role || channel.scale.role == kind.context;
}

// When the oldest record of the room was taken.
Result<std::optional<UtcMicros>> first_record_at(store::ReadingStore& store,
                                                 const std::vector<std::string>& box_ids) {
  std::optional<UtcMicros> first;
  for (const std::string& box_id : box_ids) {
    const auto boots = store.boots(box_id);
    if (!boots) {
      return Failure{boots.error()};
    }
    for (const store::BootSpan& span : boots.value()) {
      const auto dated = dated_record(store, box_id, {span.boot, span.first_sequence});
      if (!dated) {
        return Failure{dated.error()};
      }
      if (dated.value() && (!first || dated.value()->at < *first)) {
        first = dated.value()->at;
      }
    }
  }
  return first;
}

// To the end of this minute, so that a chart asked for again within it is the same one.
UtcMicros end_of_minute(UtcMicros now) {
  constexpr std::int64_t kMinute = 60'000'000;
  return UtcMicros{(now.value + kMinute - 1) / kMinute * kMinute};
}

Result<TimeRange> span_from(OpenedJob& opened, const RoomSetup& setup, int hours) {
  const UtcMicros end = end_of_minute(opened.now);
  if (hours > 0) {
    return TimeRange{end - analysis::base::micros_from_hours(hours), end};
  }
  auto from = setup.delivered_at;
  if (!from || *from >= opened.now) {
    const auto first = first_record_at(*opened.store, boxes_of_room(opened.job, setup.room_id));
    if (!first) {
      return Failure{first.error()};
    }
    from = first.value();
  }
  return TimeRange{from.value_or(end), end};
}

// What readings lie apart, so that an empty bucket is a gap.
Micros shortest_bucket(const Job& job, const Drawn& drawn) {
  Micros shortest{0};
  for (const ChannelSetup& channel : drawn.setup.channels) {
    const JobBox* box = find_box(job, channel.box_id);
    if (box == nullptr || !is_of(channel, *drawn.kind)) {
      continue;
    }
    const Micros apart = box->csv ? drawn.setup.requirements.longest_interval.value
                                  : Micros{box->sample_interval_s * 1'000'000LL * kSamplesInBucket};
    shortest = std::max(shortest, apart);
  }
  return shortest;
}

// Takes the records of the span, one after the other.
class Curves {
 public:
  Curves(const Drawn& drawn, Micros bucket)
      : drawn_(drawn),
        policy_(dwell_policy_from(drawn.setup)),
        excursions_(policy_.band, policy_.longest_interval),
        bucket_(bucket),
        buckets_(static_cast<std::size_t>((drawn.span.to - drawn.span.from) / bucket) + 1) {}

  void visit(const std::string& box_id, const Record& record, UtcMicros at) {
    DwellSample sample{at, {}, {}};
    bool carries_air = false;
    for (const ChannelSetup& channel : drawn_.setup.channels) {
      if (channel.box_id != box_id) {
        continue;
      }
      const auto value = value_of(channel, record, at, still_counts_[channel.channel_id]);
      if (at < drawn_.span.from) {
        continue;
      }
      if (channel.scale.role == ChannelRole::room_air_temperature) {
        carries_air = true;
        sample.temperature = value ? std::optional(analysis::base::Celsius{*value}) : std::nullopt;
      } else if (channel.scale.role == ChannelRole::room_air_rh) {
        sample.rh = value ? std::optional(analysis::base::RelativeHumidity{*value}) : std::nullopt;
      }
      if (value && is_of(channel, *drawn_.kind)) {
        means_[channel.channel_id].add(static_cast<std::size_t>((at - drawn_.span.from) / bucket_),
                                       *value, buckets_);
      }
    }
    // Out of the band is said of the time in which hours are counted.
    if (carries_air && drawn_.setup.delivered_at && at >= *drawn_.setup.delivered_at) {
      excursions_.add(sample);
    }
  }

  [[nodiscard]] TimeChart chart() {
    TimeChart chart;
    chart.title = std::string(drawn_.kind->title) + ", time in UTC";
    const bool humidity = file_unit_of(drawn_.kind->role) == "percent_rh";
    chart.unit = humidity ? "%RH" : "°C";
    chart.from = drawn_.span.from;
    chart.bucket = bucket_;
    add_lines(chart, humidity ? 100.0 : 1.0);
    add_limits(chart);
    return chart;
  }

 private:
  void add_lines(TimeChart& chart, double factor) {
    std::size_t subjects = 0;
    for (const bool context : {false, true}) {
      for (const ChannelSetup& channel : drawn_.setup.channels) {
        const bool subject = channel.scale.role == drawn_.kind->role;
        if (!is_of(channel, *drawn_.kind) || subject == context) {
          continue;
        }
        CourseCurve curve = means_[channel.channel_id].take();
        curve.resize(buckets_);
        chart.lines.push_back(line_from(context ? "room air" : channel.channel_id, curve,
                                        [factor](double value) { return factor * value; }));
        chart.lines.back().context = context;
        subjects += subject ? 1 : 0;
      }
    }
    if (chart.lines.size() == 1) {
      chart.lines.front().label.clear();
    }
  }

  void add_limits(TimeChart& chart) const {
    const auto& band = policy_.band;
    const ChannelRole role = drawn_.kind->role;
    chart.limit_decimals = 1;
    if (role == ChannelRole::room_air_temperature) {
      chart.limit_low = band.temperature_low.value();
      chart.limit_high = band.temperature_high.value();
    } else if (role == ChannelRole::room_air_rh) {
      chart.limit_low = percent_from_rh(band.rh_low);
      chart.limit_high = percent_from_rh(band.rh_high);
    } else if (role == ChannelRole::slab_rh && drawn_.setup.requirements.slab) {
      chart.limit_high = percent_from_rh(drawn_.setup.requirements.slab->rh_high.value);
    }
    int number = 0;
    for (const auto& excursion : excursions_.excursions()) {
      ++number;
      if (excursion.role == role) {
        chart.excursions.push_back({excursion.range, std::to_string(number)});
      }
    }
  }

  const Drawn& drawn_;
  analysis::readiness::DwellPolicy policy_;
  ExcursionLog excursions_;
  Micros bucket_;
  std::size_t buckets_;
  std::map<std::string, StillCount> still_counts_;
  std::map<std::string, BucketMeans> means_;
};

std::string names_of_kinds() {
  std::string names;
  for (const ChartKind& kind : kKinds) {
    names.append(names.empty() ? "" : ", ").append(kind.name);
  }
  return names;
}

Result<Drawn> drawn_from(OpenedJob& opened, const RoomChartQuery& query) {
  const auto kind = std::ranges::find(kKinds, query.chart, &ChartKind::name);
  const JobRoom* room = find_room(opened.job, query.room_id);
  if (kind == kKinds.end() || room == nullptr) {
    return failure(ErrorCode::not_found,
                   room == nullptr
                       ? "no such room"
                       : "chart " + query.chart + ": expected one of " + names_of_kinds());
  }
  if (query.hours < 0 || query.hours > kMostChartHours) {
    return failure(ErrorCode::invalid_input, "hours " + std::to_string(query.hours) +
                                                 ": expected 0 to " +
                                                 std::to_string(kMostChartHours));
  }
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return Failure{records.error()};
  }
  Drawn drawn{&*kind, room, room_setup_from(opened.job, *room, records.value()), {}};
  if (std::ranges::none_of(drawn.setup.channels, [&](const ChannelSetup& channel) {
        return channel.scale.role == kind->role;
      })) {
    return failure(ErrorCode::not_found,
                   "chart " + query.chart + ": room " + room->id + " has no channel for it");
  }
  const auto span = span_from(opened, drawn.setup, query.hours);
  if (!span) {
    return Failure{span.error()};
  }
  drawn.span = span.value();
  return drawn;
}

Result<TimeChart> chart_from(OpenedJob& opened, const Drawn& drawn) {
  const Micros length = drawn.span.to - drawn.span.from;
  Curves curves(drawn,
                std::max(shortest_bucket(opened.job, drawn), length / kMostBuckets) + Micros{1});
  // A sensor that stands still is told from what it showed before.
  const auto visited = visit_history(*opened.store,
                                     {boxes_of_room(opened.job, drawn.room->id),
                                      drawn.span.from - analysis::readiness::kShortWindow,
                                      drawn.span.to,
                                      {}},
                                     [&](const std::string& box_id, const Record& record,
                                         DatedTime at) { curves.visit(box_id, record, at.at); });
  return visited ? Result<TimeChart>(curves.chart()) : Failure{visited.error()};
}

}  // namespace

Result<std::string> room_chart_from(OpenedJob& opened, const RoomChartQuery& query,
                                    ChartForm form) {
  const auto drawn = drawn_from(opened, query);
  if (!drawn) {
    return Failure{drawn.error()};
  }
  const auto chart = chart_from(opened, drawn.value());
  if (!chart) {
    return Failure{chart.error()};
  }
  constexpr double kMargin = 2.0;
  constexpr double kKeyGap = 5.0;
  constexpr double kPixelsPerPoint = 2.0;
  const Size size = form == ChartForm::markup ? Size{360.0, 214.0} : Size{640.0, 250.0};
  auto made = form == ChartForm::markup ? Canvas::markup(size)
              : form == ChartForm::svg  ? Canvas::svg(size)
                                        : Canvas::png(size, kPixelsPerPoint);
  if (!made) {
    return failure(ErrorCode::unavailable, std::string(text_of(made.error())));
  }
  Canvas canvas = std::move(made).value();
  const ChartStyle style{form == ChartForm::markup ? 8.0 : 9.0, true};
  const ChartWords words;
  const double width = size.width - 2.0 * kMargin;
  const double key_top = size.height - kMargin - chart_key_height(canvas, width, style, words);
  draw_time_chart(canvas, chart.value(), {kMargin, kMargin, width, key_top - kMargin - kKeyGap},
                  style, words);
  draw_chart_key(canvas, {kMargin, key_top}, width, style, words);
  auto bytes = canvas.finish();
  return bytes ? Result<std::string>(std::move(bytes).value())
               : failure(ErrorCode::unavailable, std::string(text_of(bytes.error())));
}

}  // namespace logger::app
