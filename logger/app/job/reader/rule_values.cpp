// The alert rules: values out of checked objects.
#include <array>

#include "logger/app/job/reader/job_parts.hpp"

namespace logger::app {
namespace {

using analysis::alerts::AlertSettings;
using analysis::alerts::RuleKind;
using analysis::alerts::RuleTiming;

constexpr RuleKind kFlagRules[] = {RuleKind::lid_open, RuleKind::tilted, RuleKind::supply_low,
                                   RuleKind::self_test_failed};
constexpr int kMostRules = 64;

// Sets `into` to the number of that key times `scale` where there is one.
void put_scaled(const ObjectView& rule, std::string_view key, double scale, double& into) {
  if (const auto number = rule.number(key)) {
    into = *number * scale;
  }
}
void put_duration(const ObjectView& rule, std::string_view key, double hours, Micros& into) {
  if (const auto number = rule.number(key)) {
    into = analysis::base::micros_from_hours(*number * hours);
  }
}
void put_fire_after(const ObjectView& rule, Micros& into) {
  put_duration(rule, "fire_after_minutes", 1.0 / 60.0, into);
}
void put_clear_after(const ObjectView& rule, Micros& into) {
  put_duration(rule, "clear_after_minutes", 1.0 / 60.0, into);
}
void put_times(const ObjectView& rule, RuleTiming& into) {
  put_fire_after(rule, into.fire_after);
  put_clear_after(rule, into.clear_after);
}

void put_switches(const ObjectView& rule, RuleKind kind, AlertSettings& settings) {
  if (const auto off = rule.boolean("off")) {
    *off ? static_cast<void>(settings.off.insert(kind))
         : static_cast<void>(settings.off.erase(kind));
  }
  if (const auto urgent = rule.boolean("urgent")) {
    *urgent ? static_cast<void>(settings.urgent.insert(kind))
            : static_cast<void>(settings.urgent.erase(kind));
  }
}

void put_room_rules(const ObjectView& rules, AlertSettings& settings) {
  put_times(rules.object("out_of_band"), settings.out_of_band);
  put_times(rules.object("out_of_band_soon"), settings.out_of_band_soon);
  put_duration(rules.object("out_of_band_soon"), "within_hours", 1.0, settings.soon_within);
  put_clear_after(rules.object("dwell_reset"), settings.dwell_reset_clear_after);
  put_fire_after(rules.object("ready"), settings.ready_fire_after);
  put_fire_after(rules.object("no_longer_ready"), settings.no_longer_ready_fire_after);
  put_times(rules.object("stack_lagging"), settings.stack_lagging);
  put_duration(rules.object("stack_lagging"), "late_after_hours", 1.0, settings.stack_late_after);
  put_times(rules.object("service_climate"), settings.service_climate);
  put_duration(rules.object("service_climate"), "mean_hours", 1.0, settings.service_mean_over);
  const ObjectView condensation = rules.object("condensation_risk");
  put_times(condensation, settings.condensation_risk);
  double kelvin = settings.condensation_clear_margin.value();
  put_scaled(condensation, "clear_margin_kelvin", 1.0, kelvin);
  settings.condensation_clear_margin = analysis::base::KelvinDelta{kelvin};
}

void put_slab_rules(const ObjectView& rules, AlertSettings& settings) {
  put_times(rules.object("slab_rising"), settings.slab_rising);
  double rise = settings.slab_rise_per_day.value();
  put_scaled(rules.object("slab_rising"), "rise_per_day_percent_rh", 0.01, rise);
  settings.slab_rise_per_day = analysis::base::RelativeHumidity{rise};
  put_times(rules.object("slab_done"), settings.slab_done);
  double margin = settings.slab_clear_margin.value();
  put_scaled(rules.object("slab_done"), "clear_margin_percent_rh", 0.01, margin);
  settings.slab_clear_margin = analysis::base::RelativeHumidity{margin};
}

void put_device_rules(const ObjectView& rules, AlertSettings& settings) {
  put_fire_after(rules.object("probe_silent"), settings.probe_silent_fire_after);
  put_times(rules.object("sensor_fault"), settings.sensor_fault);
  put_times(rules.object("box_flags"), settings.box_flags);
  put_duration(rules.object("calibration_expiring"), "ahead_days", 24.0,
               settings.calibration_ahead);
  const ObjectView disk = rules.object("disk_low");
  put_times(disk, settings.disk_low);
  double bytes = static_cast<double>(settings.disk_free_below_bytes);
  put_scaled(disk, "free_below_mb", 1e6, bytes);
  settings.disk_free_below_bytes = static_cast<std::int64_t>(bytes);
  put_scaled(disk, "free_below_percent", 0.01, settings.disk_free_below_share);
  put_scaled(disk, "store_above_percent", 0.01, settings.store_above_share);
  put_times(rules.object("clock_unsure"), settings.clock_unsure);
  put_duration(rules.object("clock_unsure"), "time_error_seconds", 1.0 / 3600.0,
               settings.time_error_limit);
}

}  // namespace

void put_rules(const ObjectView& rules, AlertSettings& settings) {
  put_room_rules(rules, settings);
  put_slab_rules(rules, settings);
  put_device_rules(rules, settings);
  for (const RuleKind kind : kFlagRules) {
    put_switches(rules.object("box_flags"), kind, settings);
  }
  for (int value = 1; value < kMostRules; ++value) {
    const auto kind = static_cast<RuleKind>(value);
    if (analysis::alerts::rule_from_name(name_of(kind)) == kind) {
      put_switches(rules.object(name_of(kind)), kind, settings);
    }
  }
}

}  // namespace logger::app
