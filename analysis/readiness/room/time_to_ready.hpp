// When the room is expected to be ready. An expectation, not a promise: it says what follows if the
// room stays as it is, or if the trend of the last three hours goes on. Pure; `now` is an argument.
#pragma once

#include <cstdint>
#include <optional>

#include "analysis/base/result.hpp"
#include "analysis/base/series.hpp"
#include "analysis/readiness/dwell.hpp"

namespace analysis::readiness::room {

// Source: common practice; long enough that an opened window does not decide.
inline constexpr Micros kTrendWindow = base::micros_from_hours(3);
// A trend needs readings without a gap over at least this. [asm]
inline constexpr Micros kShortestTrend = base::micros_from_hours(1.5);
// A straight line is not carried farther than this. [asm]
inline constexpr Micros kFarthestEntry = base::micros_from_hours(24);

// Why there is no time. Not stored.
enum class NoTime : std::uint8_t {
  no_data = 1,        // nothing recorded, or too little for a trend
  gap = 2,            // no fresh reading, or an absence within the last hours
  flat = 3,           // out of band, and nothing moves beyond the noise
  away = 4,           // a channel goes the wrong way, or will have left its band again by then
  too_far_off = 5,    // the band would be entered after kFarthestEntry
  not_modelled = 6,   // for the core: nobody could compute it
  room_too_cold = 7,  // for the core: it goes to an air that is colder than it may be
  core_disagrees = 8  // for the core: by the computation it has come to the room, measured not
};

enum class DwellBasis : std::uint8_t {
  complete = 1,          // the hours are there
  if_it_stays_so = 2,    // in band now
  if_trend_goes_on = 3,  // out of band and on the way in
};

struct ExpectedTime {
  UtcMicros early;
  UtcMicros likely;
  UtcMicros late;
  bool operator==(const ExpectedTime&) const = default;
};

// Air that nears a set point slows down and a line doesn't, so the wait for the edge is longer than
// the line says: usually by the first factor, rarely by more than the second. [asm], from simulated
// rooms brought to set points 1 to 7 K beyond the edge. In a real house that nobody brought to the
// band `early` was a fair "not before" (0.76 to 0.93 of answers) and `late` held for 0.15 to 0.42
// (tests/decision/entry_real_data_test.cpp): show them only beside "if the trend goes on".
inline constexpr double kLikelySlowing = 1.6;
inline constexpr double kLateSlowing = 3.0;

struct DwellExpectation {
  ExpectedTime at;  // never before `now`; one and the same time unless if_trend_goes_on
  DwellBasis basis = DwellBasis::complete;
  std::optional<ExpectedTime> enters_band_at;  // only if_trend_goes_on; early is where the line is
  bool starts_anew = false;  // at the likely entry the hours so far will have been lost
};

// The room air of the recent hours: celsius, and rh as fraction; good readings only.
struct AirSeries {
  base::Series temperature;
  base::Series rh;
};

// In band: now plus what is missing. Out of band: a robust line through the last kTrendWindow of
// each channel; the band is entered when all that are out have reached their edge. A set point
// outside the band is never reached, which a line can't know before it is flat.
// `state` and `policy` of one account, `air` the readings it was fed, at least as far back as
// kTrendWindow before `now`; later points are left out. O(n) in the points of that window.
[[nodiscard]] base::Result<DwellExpectation, NoTime> dwell_end_expected_from(
    const DwellState& state, const DwellPolicy& policy, const AirSeries& air, UtcMicros now);

// The soonest that the hours can be complete, whatever the room does: from a fresh reading out of
// band now plus what is missing, all of it where the rules have thrown the hours away by now;
// otherwise the newest reading plus what is missing, as later readings may still come in. Never
// before `now`; an account that has not begun: now plus all.
[[nodiscard]] UtcMicros earliest_dwell_end_from(const DwellState& state, const DwellPolicy& policy,
                                                UtcMicros now);

using TimeOrReason = base::Result<ExpectedTime, NoTime>;

enum class DecidingPart : std::uint8_t { dwell = 1, core = 2 };

struct ReadyTime {
  TimeOrReason at;
  DecidingPart decided_by = DecidingPart::dwell;  // the later one, or the one that is unknown
};

// The later of both, end by end; one that is unknown makes it unknown. `core`: nullopt where the
// job does not ask for the core. REQUIRES: early <= likely <= late.
[[nodiscard]] ReadyTime ready_time_from(const base::Result<DwellExpectation, NoTime>& dwell,
                                        const std::optional<TimeOrReason>& core);

}  // namespace analysis::readiness::room
