#include "analysis/readiness/calibration.hpp"

#include <algorithm>
#include <cmath>

namespace analysis::readiness {
namespace {

using base::ChannelRole;

// 85.00 degC is the power-on value and -127.00 degC the "no answer" value of common one-wire
// temperature parts; 0x8000 and 0x7FFF mark "no value" in 16-bit registers. Source: common
// practice.
constexpr double kTemperatureSentinels[] = {85.0, -127.0};
constexpr std::int32_t kCountSentinels[] = {-32768, 32767};
// Finer than any count, coarser than the rounding of counts times scale.
constexpr double kExactly = 1e-6;

bool is_temperature(ChannelRole role) { return base::file_unit_of(role) == "celsius"; }

bool is_sentinel(std::int32_t count, double nominal, ChannelRole role) {
  const auto same_count = [&](std::int32_t sentinel) { return count == sentinel; };
  const auto same_value = [&](double sentinel) { return std::abs(nominal - sentinel) < kExactly; };
  return std::any_of(std::begin(kCountSentinels), std::end(kCountSentinels), same_count) ||
         (is_temperature(role) && std::any_of(std::begin(kTemperatureSentinels),
                                              std::end(kTemperatureSentinels), same_value));
}

// The newest that is valid at `at`; gain 1 and offset 0 before the first.
DatedCalibration calibration_at(base::UtcMicros at,
                                std::span<const DatedCalibration> calibrations) {
  const auto later = std::upper_bound(
      calibrations.begin(), calibrations.end(), at,
      [](base::UtcMicros t, const DatedCalibration& c) { return t < c.valid_from; });
  return later == calibrations.begin() ? DatedCalibration{} : *(later - 1);
}

}  // namespace

std::string_view name_of(Quality quality) {
  switch (quality) {
    case Quality::good:
      return "good";
    case Quality::status_not_ok:
      return "status_not_ok";
    case Quality::sentinel:
      return "sentinel";
    case Quality::implausible:
      return "implausible";
    case Quality::frozen:
      return "frozen";
  }
  return "unknown_quality";
}

CalibratedValue calibrated_from_raw(const base::Record& record, std::size_t channel_index,
                                    const ChannelScale& scale, base::UtcMicros at,
                                    std::span<const DatedCalibration> calibrations) {
  if (channel_index >= base::kMaxChannels ||
      record.statuses[channel_index] != base::ChannelStatus::ok) {
    return {Quality::status_not_ok, std::nullopt};
  }
  const std::int32_t count = record.raw_counts[channel_index];
  const double nominal = static_cast<double>(count) * scale.units_per_count + scale.value_at_zero;
  if (is_sentinel(count, nominal, scale.role)) {
    return {Quality::sentinel, std::nullopt};
  }
  const DatedCalibration calibration = calibration_at(at, calibrations);
  const double value = calibration.gain * nominal + calibration.offset;
  const bool plausible = value >= scale.low && value <= scale.high;  // false for a NaN
  return plausible ? CalibratedValue{Quality::good, value}
                   : CalibratedValue{Quality::implausible, std::nullopt};
}

CalibratedValue StillCount::read(const base::Record& record, std::size_t channel_index,
                                 const ChannelScale& scale, base::UtcMicros at,
                                 std::span<const DatedCalibration> calibrations) {
  const CalibratedValue value = calibrated_from_raw(record, channel_index, scale, at, calibrations);
  if (!scale.frozen_after || !value.value || (count_ && at <= seen_at_)) {
    return value;
  }
  const std::int32_t count = record.raw_counts[channel_index];
  if (count_ != count || at - seen_at_ > *scale.frozen_after / 4) {
    since_ = at;
  }
  count_ = count;
  seen_at_ = at;
  return at - since_ >= *scale.frozen_after ? CalibratedValue{Quality::frozen, std::nullopt}
                                            : value;
}

}  // namespace analysis::readiness
