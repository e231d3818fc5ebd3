// Every sentence of a verdict, and how numbers are written in it. All texts live in
// reason_texts.cpp, so that another language is one other file. Pure; independent of the locale.
#pragma once

#include <cstdint>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>

#include "analysis/base/series.hpp"
#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"

namespace analysis::readiness {

// What is said; the texts and their placeholders are in reason_texts.cpp, in this order.
enum class ReasonKey : std::uint8_t {
  delivery_met,
  delivery_not_noted,
  delivery_ahead,
  dwell_no_delivery,
  dwell_no_reading,
  dwell_met,
  dwell_short,
  dwell_lapsed,
  dwell_in_doubt,
  dwell_guard_too_wide,
  core_met,
  core_missing,
  core_no_value,
  core_too_little,
  core_away_from_air,
  core_too_cold,
  core_computed_met,
  core_computed_unsure,
  core_computed_cold,
  core_computed_no_air,
  slab_met,
  slab_missing,
  slab_not_placed,
  slab_settling,
  slab_no_value,
  slab_too_little,
  slab_too_wet,
  slab_too_few_probes,
  slab_not_in_service,
  // Joined to the reason of the slab where probes were read by hand too.
  slab_hand_beside_part,
  slab_hand_lower_part,
  slab_hand_unusable_part,
  slab_channel_lower_part,
  slab_test_met,
  slab_test_missing,
  slab_test_problem,
  slab_test_too_wet,
  slab_age_met,
  slab_age_unknown,
  slab_too_young,
  condensation_met,
  condensation_no_surface,
  condensation_too_little,
  condensation_no_dew_point,
  condensation_risk,
  evidence_met,
  evidence_no_record,
  evidence_box_silent,
  evidence_box_never_heard,
  evidence_no_air_channel,
  evidence_no_air_value,
  evidence_calibration_over,
  evidence_calibration_unknown,
  evidence_too_much_unknown,
  site_met,
  site_not_noted,
  site_not_met,
  site_open,
  no_accuracy,  // of any measured gate under guarded decisions
  // Parts of sentences about the guard; only the reason is used.
  guard_less_part,
  guard_plus_part,
  dwell_guard_part,
  // What is wrong with a slab test; only the reason is used.
  slab_test_too_few,
  slab_test_service_conditions,
  slab_test_too_short,
  slab_test_too_long,
  slab_test_no_gain,
  slab_test_wrong_depth,
  slab_test_not_equilibrated,
  slab_test_impossible,
  // Advice; only the action is used.
  advice_dry_slab,
  advice_dry_wood,
  advice_heat_for_cartons,
  advice_give_time,
  advice_keep,
  advice_heat,
  advice_cool,
  advice_humidify,
  advice_dry,
  advice_restore_readings,
};
inline constexpr ReasonKey kLastReasonKey = ReasonKey::advice_restore_readings;

struct ReasonText {
  std::string reason;
  std::string action;
};

struct TextArgument {
  std::string_view name;  // of the placeholder, without braces
  std::string value;
};

// The sentence and the advice with every {placeholder} filled. REQUIRES: an argument for each
// placeholder of that text; a missing one is our bug and stays visible as its name in braces.
[[nodiscard]] ReasonText text_from(ReasonKey key, std::initializer_list<TextArgument> arguments);

// Fixed notation with '.' and `decimals` digits; never "-0.0".
[[nodiscard]] std::string text_from_number(double value, int decimals = 1);
// The fewest digits that read back as the same number.
[[nodiscard]] std::string text_as_entered(double value);
[[nodiscard]] std::string text_from_millimetres(base::Metres value, int decimals = 0);  // "40 mm"
// Gaps, widths of panels: "8.0 mm", "0.31 in".
[[nodiscard]] std::string text_from_small_length(base::Metres value, bool imperial);
[[nodiscard]] std::string text_from_celsius(base::Celsius value, int decimals = 1);  // "16.2 °C"
[[nodiscard]] std::string text_from_rh(base::RelativeHumidity value,
                                       int decimals = 1);  // "47.3 %RH"
[[nodiscard]] std::string text_from_kelvin(base::KelvinDelta value, int decimals = 1);  // "2.7 K"
[[nodiscard]] std::string text_from_share(double fraction, int decimals = 1);           // "3.1 %"
// An upper bound: rounded up to a tenth, and never 0.
[[nodiscard]] std::string text_from_upper_share(double fraction);     // "0.1 %"
[[nodiscard]] std::string text_from_days(base::Micros value);         // "59.9 days"
[[nodiscard]] std::string text_from_whole_hours(base::Micros value);  // "48 h"
// Rounded as base/shown_hours.hpp says.
[[nodiscard]] std::string text_from_hours_done(double hours);  // "41.3 h"
[[nodiscard]] std::string text_from_hours_left(double hours);
[[nodiscard]] std::string text_from_date(base::UtcMicros at);  // "2026-03-01"
// "5 h 12 min", or words where nothing good was ever recorded.
[[nodiscard]] std::string text_from_age(const std::optional<base::SeriesPoint>& last_good,
                                        base::UtcMicros now);

// 1, or as many decimals up to 3 as it takes to print the two differently: a value that breaks its
// limit must not look equal to it.
[[nodiscard]] int decimals_between(double value, double limit);

}  // namespace analysis::readiness
