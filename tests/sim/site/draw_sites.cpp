// Plays the library's scenarios and draws what one box saw and how it was, as PNG files for a
// person to look at: draw_sites FOLDER [SCENARIO]. Not a test.
#include <algorithm>
#include <array>
#include <cstdio>
#include <fstream>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/drawing/canvas.hpp"
#include "analysis/drawing/time_chart.hpp"
#include "firmware-sim/sim/scenario.hpp"
#include "firmware-sim/sim/simulation_run.hpp"

using namespace firmware::sim;
using namespace analysis::drawing;
using analysis::base::Micros;
using analysis::base::UtcMicros;

namespace {

constexpr Micros kBucket{600'000'000};
constexpr Size kPage{640.0, 420.0};

struct Curve {
  std::string_view label;
  double (*value)(const site::SiteState&, const site::RoomTruth&);
};

constexpr std::array<Curve, 3> kTemperatures{{
    {"core",
     [](const site::SiteState& s, const site::RoomTruth&) { return s.core_temperature.value(); }},
    {"slab surface", [](const site::SiteState& s,
                        const site::RoomTruth&) { return s.slab_surface_temperature.value(); }},
    {"outdoors", [](const site::SiteState& s,
                    const site::RoomTruth&) { return s.outdoor_temperature.value(); }},
}};
constexpr std::array<Curve, 3> kHumidities{{
    {"slab at depth",
     [](const site::SiteState& s, const site::RoomTruth&) { return percent_from_rh(s.slab_rh); }},
    {"walls", [](const site::SiteState&,
                 const site::RoomTruth& r) { return percent_from_rh(r.buffer_rh()); }},
    {"outdoors", [](const site::SiteState& s,
                    const site::RoomTruth&) { return percent_from_rh(s.outdoor_rh); }},
}};

TimeChart chart_of(const char* title, const char* unit, UtcMicros from,
                   const std::array<Curve, 3>& curves) {
  TimeChart chart;
  chart.title = title;
  chart.unit = unit;
  chart.from = from;
  chart.bucket = kBucket;
  chart.lines.push_back({"air, by the box", {}, false});
  for (const Curve& curve : curves) {
    chart.lines.push_back({std::string(curve.label), {}, curve.label == "outdoors"});
  }
  return chart;
}

void add_truth(TimeChart& chart, const std::array<Curve, 3>& curves, SimulationRun& run) {
  for (std::size_t i = 0; i < curves.size(); ++i) {
    const double value = curves[i].value(run.site_state(), run.site().room());
    chart.lines[i + 1].buckets.push_back(RangeBucket{value, value, value});
  }
}

void add_samples(TimeChart& chart, const std::vector<box::TakenSample>& samples,
                 std::size_t channel) {
  auto& buckets = chart.lines.front().buckets;
  buckets.resize(chart.lines[1].buckets.size());
  std::vector<int> counts(buckets.size(), 0);
  for (const box::TakenSample& taken : samples) {
    const auto place = static_cast<std::size_t>((taken.at - chart.from) / kBucket);
    if (place >= buckets.size()) {
      continue;
    }
    const double value = taken.sample.raw_counts.at(channel) / 100.0;
    RangeBucket bucket = buckets[place].value_or(RangeBucket{value, 0.0, value});
    bucket.low = std::min(bucket.low, value);
    bucket.high = std::max(bucket.high, value);
    bucket.mean += (value - bucket.mean) / ++counts[place];
    buckets[place] = bucket;
  }
}

// The error, or nothing.
std::string draw(const std::string& name, const std::string& path) {
  RunSettings settings;
  settings.scenario = scenario_from_name(name).value();
  settings.pace = Pace::free;
  settings.boxes = {BoxOnLine{}};
  auto made = SimulationRun::create(std::move(settings));
  if (!made) {
    return made.error();
  }
  SimulationRun& run = *made.value();
  TimeChart temperature = chart_of("Temperature", "°C", run.utc_start(), kTemperatures);
  TimeChart humidity = chart_of("Relative humidity", "%RH", run.utc_start(), kHumidities);
  for (UtcMicros at = run.utc_start(); at < run.utc_end(); at = at + kBucket) {
    run.at(at, [&] {
      add_truth(temperature, kTemperatures, run);
      add_truth(humidity, kHumidities, run);
    });
  }
  run.run();
  add_samples(temperature, run.box(0).taken(), 0);
  add_samples(humidity, run.box(0).taken(), 1);

  auto canvas = Canvas::png(kPage, 1.5);
  if (!canvas) {
    return std::string(text_of(canvas.error()));
  }
  canvas.value().text({10, 4}, name, {}, kNoWrap);
  draw_time_chart(canvas.value(), temperature, {10, 20, kPage.width - 20, 195}, {}, {});
  draw_time_chart(canvas.value(), humidity, {10, 220, kPage.width - 20, 195}, {}, {});
  const auto bytes = canvas.value().finish();
  if (!bytes || !(std::ofstream(path, std::ios::binary) << bytes.value())) {
    return path + ": could not be written";
  }
  return "";
}

}  // namespace

int main(int count, char** arguments) {
  if (count < 2 || count > 3) {
    std::fprintf(stderr, "usage: draw_sites FOLDER [SCENARIO]\n");
    return 1;
  }
  for (const std::string& name : scenario_names()) {
    if (count == 3 && name != arguments[2]) {
      continue;
    }
    if (const std::string fault = draw(name, std::string(arguments[1]) + "/" + name + ".png");
        !fault.empty()) {
      std::fprintf(stderr, "%s\n", fault.c_str());
      return 1;
    }
  }
  return 0;
}
