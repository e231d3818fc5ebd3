#include "firmware-sim/sim/site/site_library.hpp"

#include <algorithm>
#include <array>

namespace firmware::sim::site {
namespace {

// Mild, wet weather, windows that leak, no dryer.
SiteParameters spring_damp() {
  SiteParameters site;
  site.weather.mean_celsius = 11.0;
  site.weather.mean_rh_fraction = 0.88;
  site.weather.daily_swing_k = 3.5;
  site.weather.wander_k = 2.0;
  site.gains.most_w = 350.0;
  site.room.air_changes_per_h = 0.6;
  site.room.humidifier.max_kg_per_h = 0.0;
  site.room.dryer.max_kg_per_h = 0.0;
  site.room.heater.thermostat_celsius = 18.0;
  site.room.start_celsius = 18.0;
  site.room.start_rh_fraction = 0.58;
  site.room.ground_celsius = 10.0;
  site.stack.delivery_celsius = 11.0;
  return site;
}

// The late-winter room over a thicker slab of a slow mix, six weeks after it was cast.
SiteParameters wet_slab() {
  SiteParameters site;
  site.slab.thickness_m = 0.12;
  site.slab.probe_depth_m = 0.048;
  site.slab.d_ref_m2_per_s = 4.0e-10;
  site.slab.capacity_kg_per_m3 = 90.0;
  site.slab.start_rh_fraction = 0.93;
  site.slab.start_air_rh_fraction = 0.60;
  site.room.dryer.max_kg_per_h = 0.4;
  return site;
}

// Hot and humid outdoors, an air conditioner, no heater.
SiteParameters summer_cooled() {
  SiteParameters site;
  site.weather.mean_celsius = 26.0;
  site.weather.daily_swing_k = 6.0;
  site.weather.mean_rh_fraction = 0.66;
  site.weather.daily_swing_rh_fraction = 0.16;
  site.gains.from_hour_utc = 6.0;
  site.gains.to_hour_utc = 19.0;
  site.gains.most_w = 1100.0;
  site.room.ground_celsius = 17.0;
  site.room.heater.max_w = 0.0;
  site.room.humidifier.max_kg_per_h = 0.0;
  site.room.dryer.max_kg_per_h = 0.0;
  site.room.cooling.flow_m3_per_s = 0.25;
  site.room.cooling.set_point_celsius = 21.5;
  site.room.start_celsius = 22.0;
  site.room.start_rh_fraction = 0.52;
  site.stack.delivery_celsius = 31.0;
  site.van.sun_k = 22.0;
  site.other_room.settles_at_celsius = 26.5;
  return site;
}

// A building without electricity: a propane heater without a flue, little air, no other equipment.
SiteParameters fuel_heated() {
  SiteParameters site;
  site.room.heater.max_w = 6000.0;
  site.room.heater.water_kg_per_kwh = 0.127;
  site.room.air_changes_per_h = 0.5;
  site.room.humidifier.max_kg_per_h = 0.0;
  site.room.dryer.max_kg_per_h = 0.0;
  site.room.start_celsius = 8.0;
  site.room.start_rh_fraction = 0.75;
  return site;
}

SiteParameters late_winter() { return {}; }

struct NamedSite {
  std::string_view name;
  SiteParameters (*make)();
};
constexpr std::array<NamedSite, 5> kSites{{{"late-winter", &late_winter},
                                           {"spring-damp", &spring_damp},
                                           {"wet-slab", &wet_slab},
                                           {"summer-cooled", &summer_cooled},
                                           {"fuel-heated", &fuel_heated}}};

}  // namespace

const std::vector<std::string_view>& site_names() {
  static const std::vector<std::string_view> names = [] {
    std::vector<std::string_view> result;
    for (const NamedSite& site : kSites) {
      result.push_back(site.name);
    }
    return result;
  }();
  return names;
}

std::optional<SiteParameters> site_from_name(std::string_view name) {
  const auto found = std::find_if(kSites.begin(), kSites.end(),
                                  [name](const NamedSite& site) { return site.name == name; });
  return found == kSites.end() ? std::nullopt : std::optional(found->make());
}

}  // namespace firmware::sim::site
