#include "analysis/readiness/calibration.hpp"

#include <catch2/catch.hpp>
#include <limits>

using namespace analysis::readiness;
using analysis::base::ChannelRole;
using analysis::base::ChannelStatus;
using analysis::base::Record;
using analysis::base::UtcMicros;

namespace {

Record record_with(std::int32_t count, ChannelStatus status = ChannelStatus::ok) {
  Record record;
  record.raw_counts[2] = count;
  record.statuses[2] = status;
  return record;
}

ChannelScale scale_of(ChannelRole role, double units_per_count = 0.01) {
  ChannelScale scale;
  scale.role = role;
  scale.units_per_count = units_per_count;
  return scale;
}

CalibratedValue read(std::int32_t count, const ChannelScale& scale,
                     std::span<const DatedCalibration> calibrations = {}, std::int64_t at = 0) {
  return calibrated_from_raw(record_with(count), 2, scale, UtcMicros{at}, calibrations);
}

}  // namespace

TEST_CASE("CountsBecomeValuesByScaleGainAndOffset") {
  const ChannelScale scale = scale_of(ChannelRole::room_air_temperature);
  CHECK(read(2034, scale).value.value() == Approx(20.34));
  CHECK(read(-4000, scale).value.value() == Approx(-40.0));
  CHECK(read(2034, scale).quality == Quality::good);
  const DatedCalibration calibration{UtcMicros{0}, UtcMicros{100}, 1.02, -0.3};
  CHECK(read(2000, scale, {&calibration, 1}).value.value() == Approx(20.1));
}

TEST_CASE("LimitsOfABandSurviveTheConversionExactly") {
  const ChannelScale temperature = scale_of(ChannelRole::room_air_temperature);
  const ChannelScale rh = scale_of(ChannelRole::room_air_rh);
  for (int whole = -40; whole <= 100; ++whole) {
    CHECK(read(whole * 100, temperature).value.value_or(whole) == whole);
    CHECK(read(whole * 100, rh).value.value_or(whole) == whole);
  }
}

TEST_CASE("TheNewestCalibrationValidAtTheSampleApplies") {
  const ChannelScale scale = scale_of(ChannelRole::room_air_rh);
  const DatedCalibration calibrations[] = {{UtcMicros{100}, UtcMicros{900}, 1.0, 1.0},
                                           {UtcMicros{200}, UtcMicros{900}, 1.0, 2.0}};
  CHECK(read(5000, scale, calibrations, 99).value.value() == Approx(50.0));
  CHECK(read(5000, scale, calibrations, 100).value.value() == Approx(51.0));
  CHECK(read(5000, scale, calibrations, 199).value.value() == Approx(51.0));
  CHECK(read(5000, scale, calibrations, 200).value.value() == Approx(52.0));
  CHECK(read(5000, scale, calibrations, 5000).value.value() == Approx(52.0));
}

TEST_CASE("OnlyAStatusOfOkGivesAValue") {
  const ChannelScale scale = scale_of(ChannelRole::room_air_temperature);
  for (int status = 1; status <= 7; ++status) {
    const CalibratedValue value = calibrated_from_raw(
        record_with(2000, static_cast<ChannelStatus>(status)), 2, scale, UtcMicros{0}, {});
    CHECK(value.quality == Quality::status_not_ok);
    CHECK_FALSE(value.value.has_value());
  }
  CHECK(
      calibrated_from_raw(record_with(2000), analysis::base::kMaxChannels, scale, UtcMicros{0}, {})
          .quality == Quality::status_not_ok);
}

TEST_CASE("SentinelsGiveNoValue") {
  const ChannelScale temperature = scale_of(ChannelRole::stack_core_temperature);
  CHECK(read(8500, temperature).quality == Quality::sentinel);
  CHECK(read(-12700, temperature).quality == Quality::sentinel);
  CHECK(read(1360, scale_of(ChannelRole::slab_temperature, 0.0625)).quality == Quality::sentinel);
  CHECK(read(8501, temperature).value.value() == Approx(85.01));
  CHECK(read(8499, temperature).value.value() == Approx(84.99));
  // 85 %RH is an ordinary humidity.
  CHECK(read(8500, scale_of(ChannelRole::slab_rh)).value.value() == Approx(85.0));
  for (const ChannelRole role :
       {ChannelRole::slab_rh, ChannelRole::room_air_temperature, ChannelRole::supply_voltage}) {
    CHECK(read(-32768, scale_of(role, 0.001)).quality == Quality::sentinel);
    CHECK(read(32767, scale_of(role, 0.001)).quality == Quality::sentinel);
    CHECK_FALSE(read(32767, scale_of(role, 0.001)).value.has_value());
    CHECK(read(32766, scale_of(role, 0.001)).quality == Quality::good);
  }
}

TEST_CASE("ASentinelIsSeenBeforeTheCorrection") {
  const DatedCalibration calibration{UtcMicros{0}, UtcMicros{100}, 1.0, 0.5};
  const ChannelScale scale = scale_of(ChannelRole::room_air_temperature);
  CHECK(read(8500, scale, {&calibration, 1}).quality == Quality::sentinel);
  CHECK(read(8450, scale, {&calibration, 1}).value.value() == Approx(85.0));
}

TEST_CASE("ValuesOutsideThePlausibleRangeGiveNoValue") {
  ChannelScale scale = scale_of(ChannelRole::room_air_rh);
  scale.low = 0.0;
  scale.high = 100.0;
  CHECK(read(0, scale).quality == Quality::good);
  CHECK(read(10000, scale).quality == Quality::good);
  CHECK(read(10001, scale).quality == Quality::implausible);
  CHECK(read(-1, scale).quality == Quality::implausible);
  CHECK_FALSE(read(-1, scale).value.has_value());
  const DatedCalibration calibration{UtcMicros{0}, UtcMicros{100}, 1.0, -1.5};
  CHECK(read(10100, scale, {&calibration, 1}).value.value() == Approx(99.5));
  const DatedCalibration broken{UtcMicros{0}, UtcMicros{100},
                                std::numeric_limits<double>::quiet_NaN(), 0.0};
  CHECK(read(5000, scale, {&broken, 1}).quality == Quality::implausible);
}

TEST_CASE("QualitiesHaveNames") {
  CHECK(name_of(Quality::good) == "good");
  CHECK(name_of(Quality::status_not_ok) == "status_not_ok");
  CHECK(name_of(Quality::sentinel) == "sentinel");
  CHECK(name_of(Quality::implausible) == "implausible");
}

namespace {

// Counts a minute apart, then what the last one is.
class Watched {
 public:
  explicit Watched(std::optional<analysis::base::Micros> frozen_after) {
    scale_ = scale_of(ChannelRole::room_air_rh);
    scale_.frozen_after = frozen_after;
  }
  Quality add(std::int32_t count, int minutes_later = 1, ChannelStatus status = ChannelStatus::ok) {
    at_ = at_ + std::chrono::minutes(minutes_later);
    const Record record = record_with(count, status);
    return still_.read(record, 2, scale_, at_, {}).quality;
  }
  Quality hold(std::int32_t count, int minutes) {
    Quality quality = Quality::good;
    for (int i = 0; i < minutes; ++i) {
      quality = add(count);
    }
    return quality;
  }

 private:
  ChannelScale scale_;
  StillCount still_;
  UtcMicros at_{0};
};

constexpr analysis::base::Micros kOneHour = analysis::base::micros_from_hours(1);

}  // namespace

TEST_CASE("ACountThatStandsStillForItsTimeIsFrozenUntilItMoves") {
  Watched watched(kOneHour);
  CHECK(watched.hold(5000, 60) == Quality::good);  // 59 minutes from the first one
  CHECK(watched.add(5000) == Quality::frozen);
  CHECK(watched.add(5000) == Quality::frozen);
  CHECK(watched.add(5001) == Quality::good);
  CHECK(watched.hold(5001, 58) == Quality::good);
  CHECK(watched.hold(5001, 2) == Quality::frozen);
}

TEST_CASE("NobodySawAPauseStandStill") {
  Watched watched(kOneHour);
  CHECK(watched.hold(5000, 50) == Quality::good);
  CHECK(watched.add(5000, 16) == Quality::good);  // begins anew
  CHECK(watched.hold(5000, 59) == Quality::good);
  CHECK(watched.add(5000) == Quality::frozen);
  CHECK(watched.add(5000, 15) == Quality::frozen);  // a quarter of the time is no pause
  // A sample without a value neither moves nor rests.
  CHECK(watched.add(0, 1, ChannelStatus::no_answer) == Quality::status_not_ok);
  CHECK(watched.add(5000) == Quality::frozen);
}

TEST_CASE("WithoutATimeNothingIsFrozen") {
  Watched watched(std::nullopt);
  CHECK(watched.hold(5000, 1000) == Quality::good);
}

TEST_CASE("AScaleMayHaveAZeroOfItsOwn") {
  ChannelScale scale = scale_of(ChannelRole::room_air_temperature, 0.1);
  scale.value_at_zero = -40.0;
  CHECK(read(615, scale).value.value() == Approx(21.5));
  const DatedCalibration calibration{UtcMicros{0}, UtcMicros{100}, 2.0, 1.0};
  CHECK(read(615, scale, {&calibration, 1}).value.value() == Approx(44.0));
  // 85 degC is the power-on value whatever the counts are.
  CHECK(read(1250, scale).quality == Quality::sentinel);
}
