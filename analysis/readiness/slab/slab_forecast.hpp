// When a drying slab may come down to the humidity limit of its floor, with how wide that guess is;
// or why there is none. Pure. A forecast helps to plan a visit: it never stands in for the measured
// test of the slab, and it knows nothing of screeds, admixtures, water from below or rewetting.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "analysis/base/units.hpp"
#include "analysis/readiness/slab/drying_library.hpp"

namespace analysis::readiness {

using base::Celsius;
using base::Megapascals;
using base::Metres;
using base::Micros;
using base::UtcMicros;

// RH and temperature inside the slab at the probe.
struct SlabReading {
  UtcMicros at;
  RelativeHumidity rh;
  std::optional<Celsius> temperature;
};

// Standard uncertainties in RH. Defaults are our assumption: 0.8 %RH common to all readings of a
// probe, 0.6 %RH from one reading to the next, and 0.6 %RH for a depth known to about 3 mm.
struct ProbeUncertainty {
  RelativeHumidity bias{0.008};
  RelativeHumidity noise{0.006};  // above 0
  RelativeHumidity depth{0.006};
};

struct SlabHistory {
  std::vector<SlabReading> readings;  // settled ones only, strictly increasing in time, to `now`
  std::optional<UtcMicros> drying_started_at;  // curing ended and the roof was on
  std::optional<Metres> thickness;             // 30..500 mm
  bool dries_from_both_faces = false;
  std::optional<Metres> probe_depth;                   // below the nearer drying face
  bool barrier_below_confirmed = false;                // asked only where it dries from one face
  std::optional<Megapascals> characteristic_strength;  // 12..80 MPa
  Celsius slab_temperature{20.0};  // where no reading tells, and from now on; 0..50 deg C
  ProbeUncertainty probe;
};

// Values are permanent (stored and signed).
enum class ForecastRefusal : std::uint8_t {
  drying_start_unknown = 1,
  thickness_unknown = 2,
  probe_depth_unknown = 3,
  probe_depth_not_standard = 4,  // not within 6 mm of 40 % (one face) or 20 % (two) of thickness
  no_barrier_confirmed = 5,      // below a slab that dries from one face
  no_settled_readings = 6,
  too_few_readings = 7,       // see days_needed
  reading_before_drying = 8,  // a reading lies before drying could start
  slab_outside_model = 9,     // thickness or strength
  rh_outside_model = 10,      // a reading above 103 % or below 60 %, or a limit outside 70..95 %
  temperature_outside_model = 11,
  air_not_below_limit = 12,  // in such air the slab never gets there
  already_at_limit = 13,     // the readings are there: a test decides, no forecast
  readings_rising = 14,
  poor_fit = 15,  // no drying curve runs through the readings
};

struct RefusedForecast {
  ForecastRefusal reason{};
  double days_needed = 0.0;  // days of further readings, where the reason is that there are too few
};

// One point of the distribution of the crossing date.
struct CrossingDate {
  enum class Kind : std::uint8_t { already_below = 1, dated = 2, beyond_horizon = 3 };
  Kind kind = Kind::beyond_horizon;
  UtcMicros at;  // `now` where already below, the end of the horizon where beyond it
  bool operator==(const CrossingDate&) const = default;
};

struct SlabForecast {
  CrossingDate early, median, late;  // 10, 50 and 90 % of the probability lie up to these
  double probability_already_below = 0.0;
  double probability_beyond_horizon = 0.0;
  RelativeHumidity residual;  // root mean square of the readings about the best curve
  std::size_t readings_used = 0;
};

struct ForecastQuestion {
  RelativeHumidity limit;
  UtcMicros now;
  double horizon_years = 10.0;  // above 0, to 100
};

inline constexpr double kFewestReadingDays = 10.0;  // shortest record the campaign tried
inline constexpr std::size_t kFewestReadings = 10;  // after thinning to two a day

// Bayes' rule over the library's curves and 25 values of the saturated diffusivity, lognormal about
// that of the strength with deviation 0.45, or about 3.5e-10 m2/s with 0.6 where the strength is
// unknown (our assumption). Readings are thinned to two a day; their covariance is
// noise^2 I + (bias^2 + depth^2) 1 1' + (1e-4/d)^2 d d', with d the days from their middle: the
// last term allows for slow errors such as the seasons. Temperature counts through the Arrhenius
// factor of the diffusivity. The air stays as the library's humidity, the slab at slab_temperature.
// REQUIRES: no reading later than now.
[[nodiscard]] base::Result<SlabForecast, RefusedForecast> slab_forecast_from(
    const SlabHistory& history, const DryingLibrary& library, const ForecastQuestion& question);

}  // namespace analysis::readiness
