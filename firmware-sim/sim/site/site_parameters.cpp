#include "firmware-sim/sim/site/site_parameters.hpp"

#include <algorithm>
#include <array>
#include <charconv>

#include "firmware-sim/sim/site/nearest_name.hpp"

namespace firmware::sim::site {
namespace {

using P = SiteParameters;

struct Row {
  ParameterRange range;
  double& (*member)(P&);
  double in_unit_of_member = 1.0;  // what a value of the key is multiplied with
};

constexpr double kPercent = 0.01;

const std::vector<Row>& rows() {
  static const std::vector<Row> table{
      // Outdoors.
      {{"outdoor_mean_celsius", -40, 45}, [](P& p) -> double& { return p.weather.mean_celsius; }},
      {{"outdoor_daily_swing_k", 0, 15}, [](P& p) -> double& { return p.weather.daily_swing_k; }},
      {{"outdoor_wander_k", 0, 8}, [](P& p) -> double& { return p.weather.wander_k; }},
      {{"outdoor_wander_memory_h", 1, 240},
       [](P& p) -> double& { return p.weather.wander_memory_h; }},
      {{"outdoor_mean_percent_rh", 5, 100},
       [](P& p) -> double& { return p.weather.mean_rh_fraction; },
       kPercent},
      {{"outdoor_daily_swing_percent_rh", 0, 40},
       [](P& p) -> double& { return p.weather.daily_swing_rh_fraction; },
       kPercent},
      {{"outdoor_wander_percent_rh", 0, 20},
       [](P& p) -> double& { return p.weather.wander_rh_fraction; },
       kPercent},
      {{"daytime_from_hour_utc", 0, 23}, [](P& p) -> double& { return p.gains.from_hour_utc; }},
      {{"daytime_to_hour_utc", 1, 24}, [](P& p) -> double& { return p.gains.to_hour_utc; }},
      {{"daytime_gain_w", 0, 5000}, [](P& p) -> double& { return p.gains.most_w; }},
      {{"daytime_cloud_percent", 0, 60},
       [](P& p) -> double& { return p.gains.cloud_share; },
       kPercent},
      {{"daytime_vapour_kg_per_h", 0, 2},
       [](P& p) -> double& { return p.gains.most_vapour_kg_per_h; }},
      // The room's shell.
      {{"floor_m2", 4, 400}, [](P& p) -> double& { return p.room.floor_m2; }},
      {{"height_m", 2, 6}, [](P& p) -> double& { return p.room.height_m; }},
      {{"air_changes_per_h", 0.02, 20}, [](P& p) -> double& { return p.room.air_changes_per_h; }},
      {{"open_windows_air_changes_per_h", 0.02, 20},
       [](P& p) -> double& { return p.room.open_windows_per_h; }},
      {{"light_envelope_w_per_k", 0, 1000},
       [](P& p) -> double& { return p.room.light_envelope_w_per_k; }},
      {{"wall_film_w_per_k", 1, 4000}, [](P& p) -> double& { return p.room.wall_film_w_per_k; }},
      {{"wall_to_outdoors_w_per_k", 0, 1000},
       [](P& p) -> double& { return p.room.wall_to_outdoors_w_per_k; }},
      {{"wall_j_per_k", 1e5, 2e8}, [](P& p) -> double& { return p.room.wall_j_per_k; }},
      {{"air_and_contents_j_per_k", 3e4, 1e7},
       [](P& p) -> double& { return p.room.air_and_contents_j_per_k; }},
      {{"ground_celsius", -10, 35}, [](P& p) -> double& { return p.room.ground_celsius; }},
      {{"slab_to_ground_w_per_m2k", 0, 5},
       [](P& p) -> double& { return p.room.slab_to_ground_w_per_m2k; }},
      {{"wall_store_m2", 0, 2000}, [](P& p) -> double& { return p.room.buffer.area_m2; }},
      {{"wall_store_kg_per_m2", 0.005, 2}, [](P& p) -> double& { return p.room.buffer.kg_per_m2; }},
      {{"pane_m2", 0.1, 100}, [](P& p) -> double& { return p.room.pane.area_m2; }},
      {{"pane_u_w_per_m2k", 0.4, 6}, [](P& p) -> double& { return p.room.pane.u_w_per_m2k; }},
      {{"start_celsius", -20, 40}, [](P& p) -> double& { return p.room.start_celsius; }},
      {{"start_percent_rh", 5, 98},
       [](P& p) -> double& { return p.room.start_rh_fraction; },
       kPercent},
      // What stands in it.
      {{"heater_w", 0, 50000}, [](P& p) -> double& { return p.room.heater.max_w; }},
      {{"thermostat_celsius", 0, 35},
       [](P& p) -> double& { return p.room.heater.thermostat_celsius; }},
      {{"heater_water_kg_per_kwh", 0, 0.3},
       [](P& p) -> double& { return p.room.heater.water_kg_per_kwh; }},
      {{"cooling_flow_m3_per_s", 0, 2},
       [](P& p) -> double& { return p.room.cooling.flow_m3_per_s; }},
      {{"cooling_set_point_celsius", 10, 35},
       [](P& p) -> double& { return p.room.cooling.set_point_celsius; }},
      {{"cooling_coil_celsius", 1, 20},
       [](P& p) -> double& { return p.room.cooling.coil_celsius; }},
      {{"humidifier_percent_rh", 5, 95},
       [](P& p) -> double& { return p.room.humidifier.rh_fraction; },
       kPercent},
      {{"humidifier_kg_per_h", 0, 10},
       [](P& p) -> double& { return p.room.humidifier.max_kg_per_h; }},
      {{"dryer_percent_rh", 5, 95},
       [](P& p) -> double& { return p.room.dryer.rh_fraction; },
       kPercent},
      {{"dryer_kg_per_h", 0, 10}, [](P& p) -> double& { return p.room.dryer.max_kg_per_h; }},
      {{"person_w", 0, 500}, [](P& p) -> double& { return p.room.person.sensible_w; }},
      {{"person_kg_per_h", 0, 2}, [](P& p) -> double& { return p.room.person.vapour_kg_per_h; }},
      // Slab and cartons.
      {{"slab_thickness_m", 0.03, 0.4}, [](P& p) -> double& { return p.slab.thickness_m; }},
      {{"slab_probe_depth_m", 0.005, 0.4}, [](P& p) -> double& { return p.slab.probe_depth_m; }},
      {{"slab_diffusivity_m2_per_s", 1e-11, 1e-8},
       [](P& p) -> double& { return p.slab.d_ref_m2_per_s; }},
      {{"slab_water_kg_per_m3", 5, 200}, [](P& p) -> double& { return p.slab.capacity_kg_per_m3; }},
      {{"slab_cast_percent_rh", 50, 100},
       [](P& p) -> double& { return p.slab.cast_rh_fraction; },
       kPercent},
      {{"slab_start_percent_rh", 30, 100},
       [](P& p) -> double& { return p.slab.start_rh_fraction; },
       kPercent},
      {{"slab_dried_in_percent_rh", 5, 95},
       [](P& p) -> double& { return p.slab.start_air_rh_fraction; },
       kPercent},
      {{"delivery_celsius", -30, 45}, [](P& p) -> double& { return p.stack.delivery_celsius; }},
      {{"stack_half_thickness_m", 0.02, 0.6},
       [](P& p) -> double& { return p.stack.half_thickness_m; }},
      {{"stack_half_width_m", 0.05, 3}, [](P& p) -> double& { return p.stack.half_width_m; }},
      // Elsewhere.
      {{"other_room_celsius", -10, 40},
       [](P& p) -> double& { return p.other_room.settles_at_celsius; }},
      {{"other_room_vapour_g_per_m3h", 0, 20},
       [](P& p) -> double& { return p.other_room.vapour_g_per_m3h; }},
      {{"van_sun_k", 0, 40}, [](P& p) -> double& { return p.van.sun_k; }},
      {{"van_time_constant_h", 0.05, 24}, [](P& p) -> double& { return p.van.time_constant_h; }},
  };
  return table;
}

std::string text_of(double value) {
  std::array<char, 32> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
  return {digits.data(), end};
}

// nullptr when there is no such key.
const Row* row_of(std::string_view key) {
  const auto row = std::find_if(rows().begin(), rows().end(),
                                [key](const Row& r) { return r.range.key == key; });
  return row == rows().end() ? nullptr : &*row;
}

}  // namespace

const std::vector<ParameterRange>& site_parameter_ranges() {
  static const std::vector<ParameterRange> ranges = [] {
    std::vector<ParameterRange> result;
    for (const Row& row : rows()) {
      result.push_back(row.range);
    }
    return result;
  }();
  return ranges;
}

analysis::base::Result<void, std::string> set_site_parameter(SiteParameters& site,
                                                             std::string_view key, double value) {
  const Row* row = row_of(key);
  if (row == nullptr) {
    std::vector<std::string_view> keys;
    for (const Row& r : rows()) {
      keys.push_back(r.range.key);
    }
    return analysis::base::Failure{"'" + std::string(key.substr(0, 64)) +
                                   "': expected a parameter of a site, docs/site-truth.md lists "
                                   "them" +
                                   nearest_text(key, keys)};
  }
  if (!(value >= row->range.low && value <= row->range.high)) {
    return analysis::base::Failure{std::string(key) + " " + text_of(value) + ": expected " +
                                   text_of(row->range.low) + " to " + text_of(row->range.high)};
  }
  row->member(site) = value * row->in_unit_of_member;
  return {};
}

std::optional<double> site_parameter(SiteParameters site, std::string_view key) {
  const Row* row = row_of(key);
  return row == nullptr ? std::nullopt : std::optional(row->member(site) / row->in_unit_of_member);
}

analysis::base::Result<void, std::string> check_site(const SiteParameters& site) {
  struct Order {
    std::string_view low_key;
    std::string_view high_key;
  };
  const std::array<Order, 4> orders{{{"daytime_from_hour_utc", "daytime_to_hour_utc"},
                                     {"slab_probe_depth_m", "slab_thickness_m"},
                                     // Else the slab never dries to where the site begins.
                                     {"slab_dried_in_percent_rh", "slab_start_percent_rh"},
                                     {"cooling_coil_celsius", "cooling_set_point_celsius"}}};
  for (const Order& order : orders) {
    const double low = site_parameter(site, order.low_key).value();
    const double high = site_parameter(site, order.high_key).value();
    if (!(low < high)) {
      return analysis::base::Failure{std::string(order.low_key) + " " + text_of(low) +
                                     ": expected below " + std::string(order.high_key) + ", " +
                                     text_of(high)};
    }
  }
  return {};
}

}  // namespace firmware::sim::site
