#include "logger/app/site/room_series.hpp"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "logger/app/room/room_tracker.hpp"
#include "logger/app/text/listed.hpp"

namespace logger::app {

using analysis::base::ChannelStatus;
using analysis::readiness::ChannelSetup;
using analysis::readiness::Quality;
using analysis::readiness::StillCount;
using nlohmann::ordered_json;
using store::ErrorCode;
using store::Failure;
using store::failure;
using store::Result;

namespace {

const char* value_key(analysis::base::ChannelRole role) {
  const auto unit = file_unit_of(role);
  return unit == "celsius"      ? "temperature_celsius"
         : unit == "percent_rh" ? "relative_humidity_percent_rh"
                                : "voltage_volt";
}

// Sensors tell no more than that.
double thousandths(double value) { return std::round(value * 1000.0) / 1000.0; }

class Page {
 public:
  Page(std::vector<ChannelSetup> channels, const web::SeriesQuery& query)
      : channels_(std::move(channels)), still_counts_(channels_.size()), query_(query) {}

  void visit(const std::string& box_id, const Record& record, DatedTime at) {
    if (!query_.from || at.at >= *query_.from) {
      begin_moment(at.at);
    }
    for (std::size_t i = 0; i < channels_.size(); ++i) {
      if (channels_[i].box_id == box_id) {
        take(i, record, at);
      }
    }
  }
  [[nodiscard]] bool full() const { return next_.has_value(); }

  [[nodiscard]] ordered_json finish() {
    if (!full()) {
      begin_moment(std::nullopt);
    }
    return {
        {"room", query_.room},
        {"points", std::move(points_)},
        {"next_from_utc", next_ ? ordered_json(rfc3339_from_utc(*next_)) : ordered_json(nullptr)}};
  }

 private:
  // Ends the one before: its points join the page, or it is where the next page begins.
  void begin_moment(std::optional<UtcMicros> at) {
    if (at && at == moment_at_) {
      return;
    }
    const std::size_t joined = points_.size() + moment_.size();
    if (!points_.empty() && joined > static_cast<std::size_t>(query_.limit)) {
      next_ = moment_at_;
      return;
    }
    for (ordered_json& point : moment_) {
      points_.push_back(std::move(point));
    }
    moment_.clear();
    moment_at_ = at;
  }

  void take(std::size_t index, const Record& record, DatedTime at) {
    const ChannelSetup& channel = channels_[index];
    const auto place = static_cast<std::size_t>(channel.channel_index);
    const auto value =
        still_counts_[index].read(record, place, channel.scale, at.at, channel.calibrations);
    const ChannelStatus status = record.statuses[place];
    if (at.at != moment_at_ || full() || status == ChannelStatus::not_fitted) {
      return;
    }
    moment_.push_back(
        {{"at_utc", rfc3339_from_utc(at.at)},
         {"time_error_seconds", thousandths(static_cast<double>(at.error.count()) * 1e-6)},
         {"channel", channel.channel_id},
         {"role", name_of(channel.scale.role)},
         {"raw_counts", status == ChannelStatus::ok ? ordered_json(record.raw_counts[place])
                                                    : ordered_json(nullptr)},
         {value_key(channel.scale.role),
          value.value ? ordered_json(thousandths(*value.value)) : ordered_json(nullptr)},
         {"quality",
          value.quality == Quality::status_not_ok ? name_of(status) : name_of(value.quality)}});
  }

  std::vector<ChannelSetup> channels_;
  std::vector<StillCount> still_counts_;
  const web::SeriesQuery& query_;
  ordered_json points_ = ordered_json::array();
  std::vector<ordered_json> moment_;
  std::optional<UtcMicros> moment_at_;
  std::optional<UtcMicros> next_;
};

Result<std::vector<ChannelSetup>> asked_channels(OpenedJob& opened, const web::SeriesQuery& query) {
  const JobRoom* room = find_room(opened.job, query.room);
  if (room == nullptr) {
    return failure(ErrorCode::not_found, "no such room");
  }
  if (query.limit < 1 || query.limit > kMostPoints) {
    return failure(ErrorCode::invalid_input, "limit " + std::to_string(query.limit) +
                                                 ": expected 1 to " + std::to_string(kMostPoints));
  }
  if (query.from && query.to && *query.from >= *query.to) {
    return failure(ErrorCode::invalid_input, "from is not before to; expected a span of time");
  }
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return Failure{records.error()};
  }
  const auto setup = room_setup_from(opened.job, *room, records.value());
  auto channels = setup.channels;
  std::erase_if(channels, [&](const ChannelSetup& channel) {
    return !query.channel.empty() && channel.channel_id != query.channel;
  });
  if (channels.empty()) {
    return failure(ErrorCode::not_found, "channel " + query.channel + ": expected one of " +
                                             listed(setup.channels, &ChannelSetup::channel_id));
  }
  return channels;
}

}  // namespace

Result<std::string> series_json_from(OpenedJob& opened, const web::SeriesQuery& query) {
  auto channels = asked_channels(opened, query);
  if (!channels) {
    return Failure{channels.error()};
  }
  Page page(std::move(channels).value(), query);
  HistoryQuery history;
  history.box_ids = boxes_of_room(opened.job, query.room);
  if (query.from) {
    // A sensor that stands still is told from what it showed before, whatever page it falls on.
    history.from = *query.from - analysis::readiness::kShortWindow;
  }
  if (query.to) {
    history.to = *query.to - Micros{1};
  }
  history.enough = [&page] { return page.full(); };
  const auto visited = visit_history(*opened.store, history,
                                     [&page](const std::string& box_id, const Record& record,
                                             DatedTime at) { page.visit(box_id, record, at); });
  if (!visited) {
    return Failure{visited.error()};
  }
  return page.finish().dump();
}

}  // namespace logger::app
