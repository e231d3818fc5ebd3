// The keys of the alert rules.
#pragma once

#include "logger/app/job/reader/keys/key_rules.hpp"

namespace logger::app::key_rules {

inline constexpr KeyRule kFireAfter = number("fire_after_minutes", kOptional, 0, 10080);
inline constexpr KeyRule kClearAfter = number("clear_after_minutes", kOptional, 0, 10080);
inline constexpr KeyRule kOff = boolean("off");
inline constexpr KeyRule kUrgent = boolean("urgent");

inline constexpr KeyRule kTimedKeys[] = {kFireAfter, kClearAfter, kOff, kUrgent};
inline constexpr ObjectKeys kTimed{kTimedKeys};
inline constexpr KeyRule kFireTimedKeys[] = {kFireAfter, kOff, kUrgent};
inline constexpr ObjectKeys kFireTimed{kFireTimedKeys};
inline constexpr KeyRule kClearTimedKeys[] = {kClearAfter, kOff, kUrgent};
inline constexpr ObjectKeys kClearTimed{kClearTimedKeys};
inline constexpr KeyRule kSwitchKeys[] = {kOff, kUrgent};
inline constexpr ObjectKeys kSwitch{kSwitchKeys};
inline constexpr KeyRule kSilentKeys[] = {kFireAfter, kUrgent};
inline constexpr ObjectKeys kSilent{kSilentKeys, "off",
                                    "can't be switched off: without it nobody would know that "
                                    "nothing else is told"};
inline constexpr KeyRule kSoonKeys[] = {number("within_hours", kOptional, 0.5, 12), kFireAfter,
                                        kClearAfter, kOff, kUrgent};
inline constexpr ObjectKeys kSoon{kSoonKeys};
inline constexpr KeyRule kLaggingKeys[] = {number("late_after_hours", kOptional, 1, 720),
                                           kFireAfter, kClearAfter, kOff, kUrgent};
inline constexpr ObjectKeys kLagging{kLaggingKeys};
inline constexpr KeyRule kCondensationKeys[] = {number("clear_margin_kelvin", kOptional, 0, 10),
                                                kFireAfter, kClearAfter, kOff, kUrgent};
inline constexpr ObjectKeys kCondensationRule{kCondensationKeys};
inline constexpr KeyRule kRisingKeys[] = {number("rise_per_day_percent_rh", kOptional, 0.05, 20),
                                          kFireAfter, kClearAfter, kOff, kUrgent};
inline constexpr ObjectKeys kRising{kRisingKeys};
inline constexpr KeyRule kSlabDoneKeys[] = {number("clear_margin_percent_rh", kOptional, 0, 10),
                                            kFireAfter, kClearAfter, kOff, kUrgent};
inline constexpr ObjectKeys kSlabDone{kSlabDoneKeys};
inline constexpr KeyRule kCalibrationKeys[] = {number("ahead_days", kOptional, 0, 365), kOff,
                                               kUrgent};
inline constexpr ObjectKeys kCalibration{kCalibrationKeys};
inline constexpr KeyRule kDiskKeys[] = {number("free_below_mb", kOptional, 0, 1000000),
                                        number("free_below_percent", kOptional, 0, 90),
                                        number("store_above_percent", kOptional, 1, 100),
                                        kFireAfter,
                                        kClearAfter,
                                        kOff,
                                        kUrgent};
inline constexpr ObjectKeys kDisk{kDiskKeys};
inline constexpr KeyRule kClockKeys[] = {number("time_error_seconds", kOptional, 1, 86400),
                                         kFireAfter, kClearAfter, kOff, kUrgent};
inline constexpr ObjectKeys kClock{kClockKeys};

inline constexpr KeyRule kServiceKeys[] = {number("mean_hours", kOptional, 1, 168), kFireAfter,
                                           kClearAfter, kOff, kUrgent};
inline constexpr ObjectKeys kService{kServiceKeys};

inline constexpr KeyRule kRuleKeys[] = {object("out_of_band", kOptional, kTimed),
                                        object("out_of_band_soon", kOptional, kSoon),
                                        object("dwell_reset", kOptional, kClearTimed),
                                        object("dwell_done", kOptional, kSwitch),
                                        object("ready", kOptional, kFireTimed),
                                        object("no_longer_ready", kOptional, kFireTimed),
                                        object("stack_lagging", kOptional, kLagging),
                                        object("condensation_risk", kOptional, kCondensationRule),
                                        object("slab_rising", kOptional, kRising),
                                        object("slab_done", kOptional, kSlabDone),
                                        object("service_climate", kOptional, kService),
                                        object("probe_silent", kOptional, kSilent),
                                        object("sensor_fault", kOptional, kTimed),
                                        object("calibration_expiring", kOptional, kCalibration),
                                        object("box_flags", kOptional, kTimed),
                                        object("lid_open", kOptional, kSwitch),
                                        object("tilted", kOptional, kSwitch),
                                        object("supply_low", kOptional, kSwitch),
                                        object("self_test_failed", kOptional, kSwitch),
                                        object("disk_low", kOptional, kDisk),
                                        object("clock_unsure", kOptional, kClock)};
inline constexpr ObjectKeys kRules{kRuleKeys};

}  // namespace logger::app::key_rules
