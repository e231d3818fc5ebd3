// Draws the sites of the library to PNG files, for a person to look at: draw_sites FOLDER. Not a
// test.
#include <array>
#include <cstdio>
#include <fstream>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/time_chart.hpp"
#include "firmware-sim/sim/site/place/box_surroundings.hpp"
#include "firmware-sim/sim/site/site_library.hpp"
#include "firmware-sim/sim/site/site_truth.hpp"

using namespace firmware::sim::site;
using namespace analysis::drawing;
using analysis::base::Kilograms;
using analysis::base::Micros;
using analysis::base::micros_from_hours;
using analysis::base::UtcMicros;

namespace {

constexpr Micros kBucket{600'000'000};

struct Event {
  double hour;
  std::function<void(SiteTruth&, BoxSurroundings&, UtcMicros)> happens;
};

struct Story {
  std::string name;
  std::string site;
  UtcMicros start;
  double hours;
  std::vector<Event> events;
};

struct Curve {
  const char* label;
  double (*value)(const SiteState&, const RoomTruth&);
};

std::vector<Story> stories() {
  const UtcMicros march{1'772'434'800'000'000};  // 2026-03-02T07:00:00Z, a Monday
  const UtcMicros july{1'783'062'000'000'000};   // 2026-07-03T07:00:00Z, a Friday
  const auto deliver = [](SiteTruth& site, BoxSurroundings&, UtcMicros) { site.deliver_cartons(); };
  const auto heater = [](bool on) {
    return [on](SiteTruth& site, BoxSurroundings&, UtcMicros) { site.controls().heater_on = on; };
  };
  const auto cooling = [](bool on) {
    return [on](SiteTruth& site, BoxSurroundings&, UtcMicros) { site.controls().cooling_on = on; };
  };
  const auto windows = [](bool open) {
    return [open](SiteTruth& site, BoxSurroundings&, UtcMicros) {
      site.controls().windows_open = open;
    };
  };
  const auto people = [](double count) {
    return
        [count](SiteTruth& site, BoxSurroundings&, UtcMicros) { site.controls().people = count; };
  };
  const auto move = [](BoxPlace place) {
    return [place](SiteTruth& site, BoxSurroundings& box, UtcMicros at) {
      box.move_to(place, site, at);
    };
  };
  const auto plaster = [](SiteTruth& site, BoxSurroundings&, UtcMicros) {
    site.start_wet_trade(Kilograms{12.0}, micros_from_hours(48.0));
  };
  const auto breathe = [](SiteTruth&, BoxSurroundings& box, UtcMicros at) { box.breathe_on(at); };
  return {
      {"heater-failure",
       "late-winter",
       march,
       144,
       {{1, deliver}, {38, heater(false)}, {62, heater(true)}}},
      {"spring-damp",
       "spring-damp",
       march,
       144,
       {{1, deliver}, {26, windows(true)}, {30, windows(false)}, {50, people(1)}, {58, people(0)}}},
      {"wet-slab", "wet-slab", march, 336, {{1, deliver}}},
      {"summer-cooling-off",
       "summer-cooled",
       july,
       120,
       {{1, deliver}, {9, cooling(false)}, {71, cooling(true)}}},
      {"fuel-heated",
       "fuel-heated",
       march,
       96,
       {{1, deliver}, {30, plaster}, {60, heater(false)}, {70, heater(true)}}},
      {"other-room",
       "late-winter",
       march,
       72,
       {{1, deliver}, {26, move(BoxPlace::other_room)}, {44, move(BoxPlace::room)}}},
      {"van",
       "late-winter",
       march,
       72,
       {{0, move(BoxPlace::van)}, {1, deliver}, {25, move(BoxPlace::room)}}},
      {"breath", "late-winter", march, 24, {{1, deliver}, {6, breathe}, {12, breathe}}},
  };
}

double percent(analysis::base::RelativeHumidity rh) { return percent_from_rh(rh); }

const std::array<Curve, 4> kTemperatures{{
    {"air", [](const SiteState& s, const RoomTruth&) { return s.air_temperature.value(); }},
    {"core", [](const SiteState& s, const RoomTruth&) { return s.core_temperature.value(); }},
    {"slab surface",
     [](const SiteState& s, const RoomTruth&) { return s.slab_surface_temperature.value(); }},
    {"outdoors",
     [](const SiteState& s, const RoomTruth&) { return s.outdoor_temperature.value(); }},
}};
const std::array<Curve, 4> kHumidities{{
    {"air", [](const SiteState& s, const RoomTruth&) { return percent(s.air_rh); }},
    {"walls", [](const SiteState&, const RoomTruth& r) { return percent(r.buffer_rh()); }},
    {"slab", [](const SiteState& s, const RoomTruth&) { return percent(s.slab_rh); }},
    {"outdoors", [](const SiteState& s, const RoomTruth&) { return percent(s.outdoor_rh); }},
}};

template <std::size_t N>
TimeChart empty_chart(const char* title, const char* unit, UtcMicros from,
                      const std::array<Curve, N>& curves) {
  TimeChart chart;
  chart.title = title;
  chart.unit = unit;
  chart.from = from;
  chart.bucket = kBucket;
  for (const Curve& curve : curves) {
    chart.lines.push_back({curve.label, {}, curve.label == std::string_view("outdoors")});
  }
  return chart;
}

template <std::size_t N>
void add(TimeChart& chart, const std::array<Curve, N>& curves, const SiteState& state,
         const RoomTruth& room) {
  for (std::size_t i = 0; i < N; ++i) {
    const double value = curves[i].value(state, room);
    chart.lines[i].buckets.push_back(RangeBucket{value, value, value});
  }
}

int draw(const Story& story, const std::string& folder) {
  SiteTruth site(site_from_name(story.site).value(), story.start, 1);
  BoxSurroundings box;
  TimeChart temperature = empty_chart("Temperature", "°C", story.start, kTemperatures);
  TimeChart humidity = empty_chart("Relative humidity", "%RH", story.start, kHumidities);
  auto next = story.events.begin();
  const UtcMicros end = story.start + micros_from_hours(story.hours);
  for (UtcMicros at = story.start; at < end; at = at + kBucket) {
    site.advance_to(at);
    for (; next != story.events.end() && story.start + micros_from_hours(next->hour) <= at;
         ++next) {
      next->happens(site, box, at);
    }
    const SiteState seen = box.seen(site, at);
    add(temperature, kTemperatures, seen, site.room());
    add(humidity, kHumidities, seen, site.room());
  }
  auto canvas = Canvas::png({700, 480}, 1.6);
  if (!canvas) {
    std::fprintf(stderr, "%s\n", std::string(text_of(canvas.error())).c_str());
    return 1;
  }
  canvas.value().text({10, 4}, story.name + " (" + story.site + ")", {}, kNoWrap);
  draw_time_chart(canvas.value(), temperature, {10, 20, 680, 225}, {}, {});
  draw_time_chart(canvas.value(), humidity, {10, 250, 680, 225}, {}, {});
  const auto bytes = canvas.value().finish();
  const std::string path = folder + "/" + story.name + ".png";
  if (!bytes || !(std::ofstream(path, std::ios::binary) << bytes.value())) {
    std::fprintf(stderr, "%s: could not be written\n", path.c_str());
    return 1;
  }
  return 0;
}

}  // namespace

int main(int count, char** arguments) {
  if (count != 2) {
    std::fprintf(stderr, "usage: draw_sites FOLDER\n");
    return 1;
  }
  for (const Story& story : stories()) {
    if (draw(story, arguments[1]) != 0) {
      return 1;
    }
  }
  return 0;
}
