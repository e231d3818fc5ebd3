// Limits and times of the alert rules. Each fires and clears at limits of its own. All defaults are
// common practice or our assumption, without a source.
#pragma once

#include <cstdint>
#include <set>

#include "analysis/alerts/alert_rules.hpp"
#include "analysis/base/units.hpp"

namespace analysis::alerts {

// An event cannot last, so dwell_reset has no fire_after; a sample ends
// silence at once, so probe_silent has no clear_after; ready and no_longer_ready end each other, so
// that exactly one of them stands once the room was ready.
struct AlertSettings {
  RuleTiming out_of_band{base::micros_from_hours(0.25), base::micros_from_hours(0.25)};
  Micros dwell_reset_clear_after = base::micros_from_hours(1);
  Micros probe_silent_fire_after = base::micros_from_hours(0.5);
  RuleTiming sensor_fault{base::micros_from_hours(0.5), base::micros_from_hours(0.25)};
  RuleTiming box_flags{Micros{0}, base::micros_from_hours(0.25)};  // lid, tilt, supply, self-test
  Micros ready_fire_after = base::micros_from_hours(0.5);
  Micros no_longer_ready_fire_after = base::micros_from_hours(0.5);

  RuleTiming out_of_band_soon{base::micros_from_hours(0.5), base::micros_from_hours(1)};
  Micros soon_within = base::micros_from_hours(3);  // clears where it is twice as far

  RuleTiming stack_lagging{base::micros_from_hours(0.5), base::micros_from_hours(0.5)};
  Micros stack_late_after = base::micros_from_hours(48);  // of the delivery, or complete hours

  RuleTiming condensation_risk{base::micros_from_hours(0.5), base::micros_from_hours(1)};
  base::KelvinDelta condensation_clear_margin{1.0};  // beyond what the gate asks

  RuleTiming slab_rising{base::micros_from_hours(6), base::micros_from_hours(6)};
  base::RelativeHumidity slab_rise_per_day{0.005};  // clears at half of it
  RuleTiming slab_done{base::micros_from_hours(1), base::micros_from_hours(6)};
  base::RelativeHumidity slab_clear_margin{0.01};  // above the gate's limit

  RuleTiming service_climate{base::micros_from_hours(1), base::micros_from_hours(1)};
  Micros service_mean_over = base::micros_from_hours(24);  // a board follows no shorter swing

  Micros calibration_ahead = base::micros_from_hours(14 * 24.0);

  RuleTiming disk_low{base::micros_from_hours(0.1), base::micros_from_hours(1)};
  std::int64_t disk_free_below_bytes = 500'000'000;  // clear a quarter beyond, as the shares
  double disk_free_below_share = 0.02;
  double store_above_share = 0.8;  // of the size it may grow to, where there is one

  // A machine that starts has no time for a while.
  RuleTiming clock_unsure{base::micros_from_hours(1), base::micros_from_hours(0.25)};
  Micros time_error_limit{60'000'000};

  std::set<RuleKind> off{};  // never probe_silent
  // Told in quiet hours too: what spoils a floor or a crew's day before the morning, and who is
  // there that should not be.
  std::set<RuleKind> urgent{RuleKind::no_longer_ready, RuleKind::condensation_risk,
                            RuleKind::lid_open, RuleKind::tilted};
  bool operator==(const AlertSettings&) const = default;
};

}  // namespace analysis::alerts
