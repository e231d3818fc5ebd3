#include "logger/app/outlook/outlook_history.hpp"

#include <algorithm>
#include <map>

#include "analysis/readiness/calibration.hpp"
#include "logger/app/room/channel_value.hpp"
#include "logger/app/room/history.hpp"

namespace logger::app {

using analysis::base::ChannelRole;
using analysis::readiness::ChannelSetup;
using analysis::readiness::RoomReplay;
using analysis::readiness::RoomSetup;
using analysis::readiness::StillCount;
using analysis::readiness::outlook::SlotMeans;

namespace {

constexpr UtcMicros kEpoch{0};  // slots of a day are days of UTC

bool is_outdoors(ChannelRole role) {
  return role == ChannelRole::outdoor_temperature || role == ChannelRole::outdoor_rh;
}

// Outdoor channels belong to the site, which is written as a room without an id, or to the room.
std::vector<ChannelSetup> outdoor_channels(const Job& job, const RoomSetup& room,
                                           const JobRecords& records) {
  std::vector<ChannelSetup> found;
  const RoomSetup site = room_setup_from(job, JobRoom{}, records);
  for (const auto* channels : {&room.channels, &site.channels}) {
    std::copy_if(channels->begin(), channels->end(), std::back_inserter(found),
                 [](const ChannelSetup& channel) { return is_outdoors(channel.scale.role); });
  }
  return found;
}

class SeriesCollector {
 public:
  SeriesCollector(const HistorySource& source, const RoomSetup& setup)
      : source_(source),
        setup_(setup),
        outdoors_(outdoor_channels(*source.job, setup, *source.records)),
        replay_(setup),
        excursions_(replay_.policy().band, replay_.policy().longest_interval),
        rh_days_(kEpoch, kDaySlot, kMostDays),
        celsius_days_(kEpoch, kDaySlot, kMostDays) {
    if (setup.delivered_at && *setup.delivered_at < source.now) {
      course_ = RoomCourse{};
      course_->from = *setup.delivered_at;
      const Micros length = std::min(source.now - course_->from, kLongestCourse);
      // Never shorter than what readings may lie apart, so that an empty bucket is a gap.
      course_->bucket =
          std::max(setup.requirements.longest_interval.value,
                   length / static_cast<std::int64_t>(kMostCourseBuckets) + Micros{1});
      course_->buckets = static_cast<std::size_t>(length / course_->bucket) + 1;
    }
  }

  [[nodiscard]] UtcMicros needed_from() const {
    UtcMicros from = source_.now - kDaySlot * static_cast<std::int64_t>(kAirDays);
    if (setup_.delivered_at) {
      from = std::min(from, *setup_.delivered_at);
    }
    for (const ChannelSetup& channel : setup_.channels) {
      const auto settled = settled_from(channel, setup_.requirements);
      from = settled ? std::min(from, *settled) : from;
    }
    return from;
  }

  [[nodiscard]] std::vector<std::string> box_ids() const {
    std::vector<std::string> ids = boxes_of_room(*source_.job, source_.room->id);
    for (const ChannelSetup& channel : outdoors_) {
      if (std::find(ids.begin(), ids.end(), channel.box_id) == ids.end()) {
        ids.push_back(channel.box_id);
      }
    }
    return ids;
  }

  void visit(const std::string& box_id, const Record& record, UtcMicros at) {
    const auto value_now = [&](const ChannelSetup& channel) {
      return channel.box_id == box_id
                 ? value_of(channel, record, at, still_counts_[channel.channel_id])
                 : std::nullopt;
    };
    for (const ChannelSetup& channel : setup_.channels) {
      const auto value = value_now(channel);
      if (value) {
        take(channel, at, *value);
      }
    }
    if (at >= source_.now - kOutdoorWindow) {
      for (const ChannelSetup& channel : outdoors_) {
        const auto value = value_now(channel);
        if (value) {
          auto& mean = channel.scale.role == ChannelRole::outdoor_rh ? outdoor_rh_ : outdoor_t_;
          mean.sum += *value;
          ++mean.count;
        }
      }
    }
    const auto bucket = bucket_of(at);
    if (bucket) {
      if (const auto counted = replay_.add(box_id, record, at).counted) {
        excursions_.add(*counted);
      }
      take_computed(*bucket);
    }
  }

  [[nodiscard]] OutlookHistory finish() {
    OutlookHistory history;
    history.air_rh_days = rh_days_.slots();
    history.air_celsius_days = celsius_days_.slots();
    for (const auto& [id, means] : slab_rh_) {
      history.slab_rh[id] = means.slots();
      history.slab_rh_cut[id] = means.full();
    }
    for (const auto& [id, means] : slab_celsius_) {
      history.slab_celsius[id] = means.slots();
    }
    if (outdoor_t_.count > 0) {
      history.outdoor_temperature = analysis::base::Celsius{outdoor_t_.value()};
    }
    if (outdoor_rh_.count > 0) {
      history.outdoor_rh = analysis::base::RelativeHumidity{outdoor_rh_.value()};
    }
    if (course_) {
      course_->air_celsius = air_celsius_.take();
      course_->air_rh = air_rh_.take();
      course_->core_measured = core_.take();
      course_->excursions = excursions_.excursions();
      history.course = std::move(course_);
    }
    return history;
  }

 private:
  struct Mean {
    double sum = 0.0;
    std::int64_t count = 0;
    [[nodiscard]] double value() const { return sum / static_cast<double>(count); }
  };

  [[nodiscard]] std::optional<std::size_t> bucket_of(UtcMicros at) const {
    if (!course_ || at < course_->from || at >= course_->to()) {
      return std::nullopt;
    }
    return static_cast<std::size_t>((at - course_->from) / course_->bucket);
  }

  void take(const ChannelSetup& channel, UtcMicros at, double value) {
    const auto bucket = bucket_of(at);
    switch (channel.scale.role) {
      case ChannelRole::room_air_temperature:
        celsius_days_.add(at, value);
        add_to(air_celsius_, bucket, value);
        break;
      case ChannelRole::room_air_rh:
        rh_days_.add(at, value);
        add_to(air_rh_, bucket, value);
        break;
      case ChannelRole::stack_core_temperature:
        if (!channel.placed_at || at >= *channel.placed_at) {
          add_to(core_, bucket, value);
        }
        break;
      case ChannelRole::slab_rh: {
        const auto settled = settled_from(channel, setup_.requirements);
        if (settled && at >= *settled) {
          slab_slots(slab_rh_, channel.channel_id).add(at, value);
        }
        break;
      }
      case ChannelRole::slab_temperature:
        slab_slots(slab_celsius_, channel.channel_id).add(at, value);
        break;
      default:
        break;
    }
  }

  void add_to(BucketMeans& means, std::optional<std::size_t> bucket, double value) const {
    if (bucket) {
      means.add(*bucket, value, course_->buckets);
    }
  }

  static SlotMeans& slab_slots(std::map<std::string, SlotMeans>& by_channel,
                               const std::string& channel_id) {
    return by_channel.try_emplace(channel_id, kEpoch, kSlabSlot, kMostSlabReadings).first->second;
  }

  // Once a bucket: the computed core moves in steps of a quarter of an hour.
  void take_computed(std::size_t bucket) {
    if (!replay_.stack()) {
      return;
    }
    CourseCurve& curve = course_->core_computed;
    curve.resize(course_->buckets);
    if (curve[bucket]) {
      return;
    }
    const auto result = replay_.stack()->result();
    if (!result.measured) {
      const auto [low, high] =
          std::minmax({result.fast.temperature.value(), result.slow.temperature.value()});
      curve[bucket] = CourseValue{low, result.mid.temperature.value(), high};
    }
  }

  const HistorySource& source_;
  const RoomSetup& setup_;
  std::vector<ChannelSetup> outdoors_;
  std::map<std::string, StillCount> still_counts_;  // by channel id
  RoomReplay replay_;  // of its own, for the computed core along the way
  analysis::readiness::ExcursionLog excursions_;
  SlotMeans rh_days_;
  SlotMeans celsius_days_;
  std::map<std::string, SlotMeans> slab_rh_;
  std::map<std::string, SlotMeans> slab_celsius_;
  Mean outdoor_t_, outdoor_rh_;
  std::optional<RoomCourse> course_;
  BucketMeans air_celsius_, air_rh_, core_;
};

}  // namespace

std::optional<UtcMicros> settled_from(const ChannelSetup& channel,
                                      const analysis::readiness::FloorRequirements& requirements) {
  if (channel.scale.role != ChannelRole::slab_rh || !channel.placed_at || !requirements.slab) {
    return std::nullopt;
  }
  return *channel.placed_at + requirements.slab->settle.value;
}

store::Result<OutlookHistory> outlook_history_from(store::ReadingStore& store,
                                                   const HistorySource& source) {
  const RoomSetup setup = room_setup_from(*source.job, *source.room, *source.records);
  SeriesCollector collector(source, setup);
  const auto visited =
      visit_history(store, {collector.box_ids(), collector.needed_from(), source.now, {}},
                    [&](const std::string& box_id, const Record& record, DatedTime at) {
                      collector.visit(box_id, record, at.at);
                    });
  if (!visited) {
    return store::Failure{visited.error()};
  }
  return collector.finish();
}

}  // namespace logger::app
