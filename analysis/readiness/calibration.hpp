// From raw counts to values. One conversion point: value = gain * (raw * scale + zero) + offset, in
// the file unit of the channel's role (celsius, percent_rh, volt). Quality first: a sample whose
// status is not ok, or that is a sentinel or outside the channel's range, gives no value.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "analysis/base/record.hpp"
#include "analysis/base/time.hpp"

namespace analysis::readiness {

// How a channel's counts are to be read; from job.json, never from the box.
struct ChannelScale {
  base::ChannelRole role = base::ChannelRole::room_air_temperature;
  double units_per_count = 0.01;  // file unit per count
  double low = -60.0;             // plausible range in the file unit; outside = no value
  double high = 125.0;
  double value_at_zero = 0.0;  // file unit at count 0
  // A count that stays the very same for this long comes from a sensor, or a line to it, that
  // stands still: air and sensors always stir by a count. nullopt = counts too coarse to tell.
  std::optional<base::Micros> frozen_after{};
};

// Dated two-point correction in the file unit. The newest with valid_from <= the sample's time
// applies; before the first none does (gain 1, offset 0).
struct DatedCalibration {
  base::UtcMicros valid_from;
  base::UtcMicros due_at;
  double gain = 1.0;
  double offset = 0.0;
  double expanded_uncertainty = 0.0;  // k = 2, of corrected values
};

// Quality of one channel of one sample. Values are permanent (exported).
enum class Quality : std::uint8_t {
  good = 1,
  status_not_ok = 2,
  sentinel = 3,
  implausible = 4,
  frozen = 5
};
[[nodiscard]] std::string_view name_of(Quality quality);  // "good", "status_not_ok" and the like

struct CalibratedValue {
  Quality quality = Quality::status_not_ok;
  std::optional<double> value;  // in the file unit; only when quality is good
};

// `calibrations`: increasing valid_from. Known sentinels (power-on and error values of common
// sensor parts: 85.00 and -127.00 degC exactly before any correction, in temperature roles; -32768
// and 32767 counts in all) give no value. The plausible range applies to the corrected value.
// A channel the record does not have counts as not fitted. O(log n) in the calibrations.
[[nodiscard]] CalibratedValue calibrated_from_raw(const base::Record& record,
                                                  std::size_t channel_index,
                                                  const ChannelScale& scale, base::UtcMicros at,
                                                  std::span<const DatedCalibration> calibrations);

// Follows one channel from sample to sample, in order of time, and finds out when its count has
// stood still for too long. What was good before that was known stays good. A pause longer than a
// quarter of that time begins anew, since nobody saw it stand still.
class StillCount {
 public:
  // What calibrated_from_raw gives, or frozen without a value.
  CalibratedValue read(const base::Record& record, std::size_t channel_index,
                       const ChannelScale& scale, base::UtcMicros at,
                       std::span<const DatedCalibration> calibrations);

 private:
  std::optional<std::int32_t> count_;
  base::UtcMicros since_;
  base::UtcMicros seen_at_;
};

}  // namespace analysis::readiness
