// Dwell accounting: how long the room air has been in its band, incrementally. Pure; one account is
// used by one thread; O(1) memory, and the sum never depends on how the log was cut into calls.
// Does not know clocks, files or rooms. Rules: docs/dwell-accounting.md.
//
// Exactness: reading times are whole microseconds and intervals between them are exact. A crossing
// of a limit lies between two readings on the straight line through them and is a double; sums of
// whole seconds are exact, others are good to 1e-6 s over a year of one-minute readings (tested).
// Comparisons of a sum with a limit therefore allow kDwellResolutionSeconds, so that an excursion
// of exactly the grace is never taken for a longer one.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"

namespace analysis::readiness {

using base::Celsius;
using base::Micros;
using base::RelativeHumidity;
using base::UtcMicros;

// The resolution of reading times, 1 us.
inline constexpr double kDwellResolutionSeconds = 1e-6;

// Both ends of a band belong to it.
struct ClimateBand {
  Celsius temperature_low{17.0};
  Celsius temperature_high{23.0};
  RelativeHumidity rh_low{0.45};
  RelativeHumidity rh_high{0.60};
  bool operator==(const ClimateBand&) const = default;
};

// Defaults are common practice where they name no source; every one is set per job.
struct DwellPolicy {
  ClimateBand band;
  Micros required = base::micros_from_hours(48);
  Micros longest_interval = base::micros_from_hours(0.75);  // longer between readings = unknown
  Micros grace =
      base::micros_from_hours(0.25);  // an excursion up to this neither counts nor resets
  Micros excursion_budget = base::micros_from_hours(1);  // sum of excursions within one run
  Micros longest_unknown = base::micros_from_hours(4);   // unknown time within one run
  bool cumulative = false;                               // count time in band only; no resets
  bool operator==(const DwellPolicy&) const = default;
};

// nullopt = this channel gave nothing usable at that time. A value that is not finite counts as
// none.
struct DwellSample {
  UtcMicros at;
  std::optional<Celsius> temperature;
  std::optional<RelativeHumidity> rh;
  bool operator==(const DwellSample&) const = default;
};

enum class ResetReason : std::uint8_t { excursion = 1, excursion_budget = 2, unknown = 3 };

struct DwellReset {
  UtcMicros at;  // when the rule was broken: excursion start + grace, or when the budget ran out
  ResetReason reason = ResetReason::excursion;
  double lost_seconds = 0.0;  // dwell that was thrown away
};

// Extremes of the air, limits reached on the way in or out included.
struct AirExtremes {
  Celsius temperature_min;
  Celsius temperature_max;
  RelativeHumidity rh_min;
  RelativeHumidity rh_max;
  bool operator==(const AirExtremes&) const = default;
};

// The extremes over the newest time that counted in the current run, in parts of a twelfth of the
// required time each, so that a start at the limit long ago is forgotten in bounded memory.
struct RecentAir {
  static constexpr std::int64_t kPartsOfRequired = 12;
  std::array<std::optional<AirExtremes>, kPartsOfRequired + 1> parts;  // by number modulo size
  std::int64_t newest = -1;  // number of the newest part in the run; -1 = none
  bool operator==(const RecentAir&) const = default;

  // Over at least the last `required` of the run's counted time and at most a twelfth more, or all
  // of it while it is shorter; nullopt before there is some.
  [[nodiscard]] std::optional<AirExtremes> extremes() const;
};

// All of it survives a restart by value. Seconds as doubles; the times are exact readings.
struct DwellState {
  double in_band_seconds = 0.0;          // of the current run; what counts against `required`
  double excursion_seconds = 0.0;        // open excursion, up to its newest time out of band
  double pending_unknown_seconds = 0.0;  // after it; joins it when the air is still out afterwards
  double excursion_sum_seconds = 0.0;    // closed excursions of the current run
  double unknown_run_seconds = 0.0;      // within the current run
  double total_in_seconds = 0.0;         // over the whole log: in + out + unknown = span
  double total_out_seconds = 0.0;
  double total_unknown_seconds = 0.0;
  std::optional<UtcMicros> done_at;  // latched when `required` was reached first
  std::optional<UtcMicros> first_at;
  std::optional<DwellSample> previous;      // last accepted reading
  std::optional<UtcMicros> run_started_at;  // begin of the current run's first in-band time
  bool counting = false;                    // the newest interval ended in time that counted
  // Extremes of the air over the time that counted in the current run, limits reached on the way
  // out or in included; nullopt before the first.
  std::optional<Celsius> run_temperature_min, run_temperature_max;
  std::optional<RelativeHumidity> run_rh_min, run_rh_max;
  RecentAir recent;
  std::int64_t rejected = 0;  // late or repeated readings
  std::int64_t resets = 0;
  bool operator==(const DwellState&) const = default;
};

class DwellAccount {
 public:
  explicit DwellAccount(DwellPolicy policy) : policy_(policy) {}
  DwellAccount(DwellPolicy policy, DwellState state) : policy_(policy), state_(state) {}

  // Accepts a reading strictly later than the one before, otherwise counts it as rejected.
  // Returns the resets it caused, in order of time (at most two).
  std::vector<DwellReset> add(const DwellSample& sample);

  [[nodiscard]] const DwellState& state() const { return state_; }
  [[nodiscard]] const DwellPolicy& policy() const { return policy_; }
  [[nodiscard]] bool enough() const;  // in_band_seconds >= required
  [[nodiscard]] bool lapsed() const;  // was done once, is not enough now

 private:
  struct Stretch;  // the part of an interval that is handled in one go
  void add_in_band(const Stretch& stretch);
  void widen_recent(const Stretch& stretch, double counted_before_seconds);
  void add_out_of_band(const Stretch& stretch, std::vector<DwellReset>& resets);
  void add_unknown(const Stretch& stretch, std::vector<DwellReset>& resets);
  void reset(UtcMicros at, ResetReason reason, std::vector<DwellReset>& resets);

  DwellPolicy policy_;
  DwellState state_;
};

}  // namespace analysis::readiness
