// A channel of a record as its value.
#pragma once

#include <optional>

#include "analysis/base/units.hpp"
#include "analysis/readiness/calibration.hpp"
#include "analysis/readiness/room_replay.hpp"

namespace logger::app {

// In the unit of the role (celsius, rh as fraction, volt); nullopt where it is not good. `still` is
// the channel's own, and sees its records in order of time.
[[nodiscard]] inline std::optional<double> value_of(
    const analysis::readiness::ChannelSetup& channel, const analysis::base::Record& record,
    analysis::base::UtcMicros at, analysis::readiness::StillCount& still) {
  const auto value = still
                         .read(record, static_cast<std::size_t>(channel.channel_index),
                               channel.scale, at, channel.calibrations)
                         .value;
  return value && file_unit_of(channel.scale.role) == "percent_rh"
             ? std::optional(analysis::base::rh_from_percent(*value).value())
             : value;
}

}  // namespace logger::app
