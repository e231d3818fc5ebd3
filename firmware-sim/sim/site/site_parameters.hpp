// All that a simulated site is made of, and its parameters by name for texts. Plain data.
// Thread-safe.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/result.hpp"
#include "firmware-sim/sim/site/place/place_air.hpp"
#include "firmware-sim/sim/site/room/room_parameters.hpp"
#include "firmware-sim/sim/site/solids/slab_truth.hpp"
#include "firmware-sim/sim/site/solids/stack_truth.hpp"
#include "firmware-sim/sim/site/weather/weather.hpp"

namespace firmware::sim::site {

// Sun, lamps and visitors by day: a half sine between two hours of each day, under seeded clouds.
struct DaytimeGains {
  double from_hour_utc = 7.0;
  double to_hour_utc = 17.0;
  double most_w = 700.0;      // of the mean sky
  double cloud_share = 0.35;  // standard deviation; never below 0 or above 2 times the mean sky
  double cloud_memory_h = 5.0;
  double most_vapour_kg_per_h = 0.07;
};

struct SiteParameters {
  DaytimeGains gains;
  WeatherParameters weather;
  RoomParameters room;
  SlabParameters slab;
  StackParameters stack;
  PlaceParameters other_room{.settles_at_celsius = 22.5,
                             .heated = true,
                             .sun_k = 1.5,
                             .time_constant_h = 12.0,
                             .air_changes_per_h = 0.5,
                             .vapour_g_per_m3h = 1.2};
  PlaceParameters van{.sun_k = 12.0, .time_constant_h = 0.7, .air_changes_per_h = 0.4};
  double step_s = 30.0;  // of the grid on which the truth is advanced; a whole number, 1..120
};

struct ParameterRange {
  std::string_view key;  // ends in the unit; RH in per cent
  double low;
  double high;
};

// Every key of set_site_parameter, in the order of docs/site-truth.md.
[[nodiscard]] const std::vector<ParameterRange>& site_parameter_ranges();
// The error is one line: the key and the nearest one, or the value and its range.
[[nodiscard]] analysis::base::Result<void, std::string> set_site_parameter(SiteParameters& site,
                                                                           std::string_view key,
                                                                           double value);
// The value in the key's unit; nullopt when there is no such key. By value: the table names members
// that can be written to.
[[nodiscard]] std::optional<double> site_parameter(SiteParameters site, std::string_view key);
// What single values can't show: whether they fit together. Call it when all are set. The error is
// one line: both keys with their values.
[[nodiscard]] analysis::base::Result<void, std::string> check_site(const SiteParameters& site);

}  // namespace firmware::sim::site
