// Rules about boxes, their channels, and the logger itself.
#include <algorithm>
#include <cmath>

#include "analysis/alerts/alert_texts.hpp"
#include "analysis/alerts/observations.hpp"
#include "analysis/alerts/rules/rule_steps.hpp"
#include "analysis/base/record.hpp"
#include "analysis/readiness/room/robust_trend.hpp"

namespace analysis::alerts {
namespace {

struct FlagRule {
  RuleKind kind;
  std::uint16_t flag;
};
constexpr FlagRule kFlagRules[] = {{RuleKind::lid_open, base::kFlagLidOpen},
                                   {RuleKind::tilted, base::kFlagTilted},
                                   {RuleKind::supply_low, base::kFlagSupplyLow},
                                   {RuleKind::self_test_failed, base::kFlagSelfTestFailed}};

// What is low clears a quarter above its limit.
constexpr double kClearFactor = 1.25;

// A slope of less than half a day says nothing about a slab, whose probe follows the day.
constexpr Micros kShortestSlabTrend = base::micros_from_hours(12);

std::optional<double> slab_rise_per_day_from(const std::vector<base::SeriesPoint>& points) {
  if (points.empty() || points.back().at - points.front().at < kShortestSlabTrend) {
    return std::nullopt;
  }
  const auto trend = readiness::room::robust_trend_from(points);
  if (!trend) {
    return std::nullopt;
  }
  return trend->rises_or_falls() ? trend->per_hour * 24.0 : 0.0;
}

void step_flags(RuleSteps& steps, const AlertSettings& settings, const BoxObservation& box) {
  for (const FlagRule& rule : kFlagRules) {
    RuleInput input;
    if (box.flags) {
      const bool set = (*box.flags & rule.flag) != 0;
      input = {set, !set};
    }
    steps.step_and_tell(rule.kind, settings.box_flags, input, [&](Transition transition) {
      return text_from_flag(rule.kind, transition, box);
    });
  }
}

}  // namespace

std::vector<AlertMessage> step_box_alerts(std::vector<Alert>& alerts, const AlertSettings& settings,
                                          const BoxObservation& box, UtcMicros now) {
  RuleSteps steps(alerts, settings, box.box_id, now);
  // Samples from before this run of the logger say nothing about the box being silent now.
  const UtcMicros heard_at =
      std::max(box.last_sample_at.value_or(box.expected_from), box.expected_from);
  const Micros silent_for = now - heard_at;
  const bool silent = silent_for >= settings.probe_silent_fire_after;
  const bool heard =
      box.last_sample_at && now - *box.last_sample_at < settings.probe_silent_fire_after;
  steps.step_and_tell(RuleKind::probe_silent, {}, {silent, heard},
                      [&](Transition transition) { return text_from_box(transition, box, now); },
                      {{"silent_for_minutes", base::hours_from(silent_for) * 60.0}});
  step_flags(steps, settings, box);
  RuleInput unsure;
  if (box.time_error) {
    unsure = {*box.time_error > settings.time_error_limit,
              *box.time_error * kClearFactor < settings.time_error_limit};
  }
  steps.step_and_tell(RuleKind::clock_unsure, settings.clock_unsure, unsure,
                      [&](Transition transition) {
                        return text_from_time_error(transition, box, settings.time_error_limit);
                      });
  return steps.take_messages();
}

std::vector<AlertMessage> step_channel_alerts(std::vector<Alert>& alerts,
                                              const AlertSettings& settings,
                                              const ChannelObservation& channel, UtcMicros now) {
  RuleSteps steps(alerts, settings, channel.channel_id, now);
  RuleInput fault;
  if (channel.usable) {
    fault = {!*channel.usable, *channel.usable};
  }
  steps.step_and_tell(
      RuleKind::sensor_fault, settings.sensor_fault, fault,
      [&](Transition transition) { return text_from_channel(transition, channel); });

  const auto rise = slab_rise_per_day_from(channel.settled_slab_rh);
  RuleInput rising;
  if (rise) {
    rising = {*rise >= settings.slab_rise_per_day.value(),
              *rise <= settings.slab_rise_per_day.value() / 2.0};
  }
  steps.step_and_tell(
      RuleKind::slab_rising, settings.slab_rising, rising, [&](Transition transition) {
        return text_from_slab(transition, channel, base::RelativeHumidity{rise.value_or(0.0)});
      });

  RuleInput expiring;
  if (channel.calibration_due_at) {
    const bool soon = *channel.calibration_due_at - now <= settings.calibration_ahead;
    expiring = {soon, !soon};
  }
  steps.step_and_tell(RuleKind::calibration_expiring, {}, expiring, [&](Transition transition) {
    return text_from_calibration(transition, channel, now);
  });
  return steps.take_messages();
}

namespace {

RuleInput disk_input(const AlertSettings& settings, const LoggerObservation& logger) {
  double fullest = 0.0;  // 1 = at a limit
  if (!logger.free_bytes) {
    return {};
  }
  const auto free = static_cast<double>(std::max<std::int64_t>(*logger.free_bytes, 1));
  fullest = static_cast<double>(settings.disk_free_below_bytes) / free;
  if (logger.disk_bytes) {
    fullest = std::max(
        fullest, settings.disk_free_below_share * static_cast<double>(*logger.disk_bytes) / free);
  }
  if (logger.store_limit_bytes > 0) {
    fullest = std::max(
        fullest, static_cast<double>(logger.store_bytes) /
                     (settings.store_above_share * static_cast<double>(logger.store_limit_bytes)));
  }
  return {fullest >= 1.0, fullest * kClearFactor < 1.0};
}

}  // namespace

std::vector<AlertMessage> step_logger_alerts(std::vector<Alert>& alerts,
                                             const AlertSettings& settings,
                                             const LoggerObservation& logger, UtcMicros now) {
  RuleSteps steps(alerts, settings, kLoggerSubject, now);
  steps.step_and_tell(RuleKind::disk_low, settings.disk_low, disk_input(settings, logger),
                      [&](Transition transition) { return text_from_disk(transition, logger); });
  const bool stepped = logger.clock_step != Micros{0};
  RuleInput unsure;
  if (stepped) {
    unsure = {true, false};
  } else if (logger.clock_synchronised) {
    unsure = {!*logger.clock_synchronised, *logger.clock_synchronised};
  } else {
    unsure = {false, true};  // nothing speaks against it but a step
  }
  const RuleTiming timing{stepped ? Micros{0} : settings.clock_unsure.fire_after,
                          settings.clock_unsure.clear_after};
  steps.step_and_tell(RuleKind::clock_unsure, timing, unsure,
                      [&](Transition transition) { return text_from_clock(transition, logger); });
  return steps.take_messages();
}

}  // namespace analysis::alerts
