// The slab: readings at depth, places, drying forecast, tests by hand.
#include <algorithm>
#include <cmath>

#include "analysis/readiness/gates/gate_parts.hpp"
#include "analysis/readiness/slab/forecast_evidence.hpp"
#include "analysis/readiness/uncertainty/conformance.hpp"
#include "logger/app/outlook/sections/room_sections.hpp"
#include "logger/app/room/tests_under_way.hpp"

namespace logger::app {

using analysis::base::Celsius;
using analysis::base::ChannelRole;
using analysis::base::RelativeHumidity;
using analysis::readiness::ChannelEvidence;
using analysis::readiness::ChannelSetup;
using analysis::readiness::DecisionRule;
using analysis::readiness::DryingLibrary;
using analysis::readiness::ForecastQuestion;
using analysis::readiness::GateResult;
using analysis::readiness::kCoverageFactor;
using analysis::readiness::RefusedForecast;
using analysis::readiness::SlabForecast;
using analysis::readiness::SlabHistory;
using analysis::readiness::SlabReading;
using analysis::readiness::outlook::mean_of_newest;
using analysis::readiness::outlook::recorded_of_newest;
using analysis::readiness::outlook::SlotMean;

namespace {

// A library is solved for a humidity rounded to this, so that two probes share one.
constexpr double kLibraryStep = 0.005;

// Slots of the slab's temperature in the same box; the job allows one such probe beside each RH
// probe, the first one stands for the slab.
const SlotList* temperature_slots(const RoomFacts& facts, const ChannelSetup& probe) {
  for (const ChannelSetup& channel : facts.tracker.replay().setup().channels) {
    const auto found =
        channel.scale.role == ChannelRole::slab_temperature && channel.box_id == probe.box_id
            ? facts.history.slab_celsius.find(channel.channel_id)
            : facts.history.slab_celsius.end();
    if (found != facts.history.slab_celsius.end()) {
      return &found->second;
    }
  }
  return nullptr;
}

std::vector<SlabReading> readings_from(const SlotList& rh, const SlotList* temperature) {
  std::vector<SlabReading> readings;
  for (const SlotMean& slot : rh) {
    SlabReading reading{slot.at, RelativeHumidity{slot.mean}, std::nullopt};
    if (temperature != nullptr) {
      const auto same =
          std::find_if(temperature->begin(), temperature->end(),
                       [&](const SlotMean& other) { return other.number == slot.number; });
      if (same != temperature->end()) {
        reading.temperature = Celsius{same->mean};
      }
    }
    readings.push_back(reading);
  }
  return readings;
}

SlabHistory history_from(const RoomFacts& facts, const ChannelSetup& channel,
                         const SlabOutlook& slab, SlabProbeOutlook& probe) {
  const JobSlabBuild& build = *facts.room.slab_build;
  const SlotList* temperature = temperature_slots(facts, channel);
  SlabHistory history;
  history.readings = readings_from(probe.course, temperature);
  history.drying_started_at = build.drying_from;
  history.thickness = build.thickness;
  history.dries_from_both_faces = build.two_sided;
  history.probe_depth = slab.probe_depth;
  history.barrier_below_confirmed = build.barrier_below.value_or(false);
  history.characteristic_strength = build.strength;
  const auto newest_slab = temperature != nullptr ? mean_of_newest(*temperature, 4) : std::nullopt;
  const auto air = mean_of_newest(facts.history.air_celsius_days, kAirDays);
  if (newest_slab || air) {
    history.slab_temperature = Celsius{newest_slab ? *newest_slab : *air};
  }
  const auto uncertainty = standard_uncertainty_from(channel, facts.evidence.delivered_at);
  probe.default_uncertainty = !uncertainty;
  if (uncertainty) {
    history.probe.bias = RelativeHumidity{*uncertainty};
  }
  return history;
}

// The curves are solved only where the readings can use them.
class Forecaster {
 public:
  Forecaster(RelativeHumidity air_rh, const ForecastQuestion& question)
      : air_rh_(std::round(air_rh.value() / kLibraryStep) * kLibraryStep), question_(question) {}

  // nullopt where the air lies outside what the curves cover.
  std::optional<analysis::base::Result<SlabForecast, RefusedForecast>> forecast(
      const SlabHistory& history) {
    const auto usable = forecast_evidence_from(history, air_rh_, question_);
    if (!usable) {
      return analysis::base::Result<SlabForecast, RefusedForecast>(
          analysis::base::Failure{usable.error()});
    }
    if (!library_) {
      auto solved = DryingLibrary::solve(air_rh_);
      if (!solved) {
        return std::nullopt;
      }
      library_ = std::move(solved).value();
    }
    return slab_forecast_from(history, *library_, question_);
  }

 private:
  RelativeHumidity air_rh_;
  ForecastQuestion question_;
  std::optional<DryingLibrary> library_;
};

// Over the averaging time of the job, which the verdict compares with the limit.
std::optional<RelativeHumidity> mean_at_depth(const RoomFacts& facts, const ChannelSetup& channel) {
  const auto& requirements = facts.room.requirements;
  for (const ChannelEvidence& evidence : facts.evidence.channels) {
    if (evidence.channel_id == channel.channel_id) {
      const auto values = recent_values_from(
          evidence, facts.now, requirements.slab->averaging.value,
          requirements.longest_interval.value, settled_from(channel, requirements));
      return values ? std::optional(RelativeHumidity{values->mean}) : std::nullopt;
    }
  }
  return std::nullopt;
}

SlabProbeOutlook probe_from(const RoomFacts& facts, const ChannelSetup& channel) {
  SlabProbeOutlook probe;
  probe.channel_id = channel.channel_id;
  probe.placed_at = channel.placed_at;
  probe.settled_at = settled_from(channel, facts.room.requirements);
  probe.mean = mean_at_depth(facts, channel);
  const auto uncertainty = standard_uncertainty_from(channel, facts.evidence.delivered_at);
  if (uncertainty) {
    probe.expanded_uncertainty = RelativeHumidity{kCoverageFactor * *uncertainty};
  }
  if (const auto course = facts.history.slab_rh.find(channel.channel_id);
      course != facts.history.slab_rh.end()) {
    probe.course = course->second;
    probe.course_cut = facts.history.slab_rh_cut.at(channel.channel_id);
  }
  return probe;
}

// The limit that the gate will compare the mean with.
RelativeHumidity limit_less_guard(const RoomFacts& facts) {
  const auto& requirements = facts.room.requirements;
  const RelativeHumidity limit = requirements.slab->rh_high.value;
  double guard = 0.0;
  for (const ChannelSetup& channel : facts.tracker.replay().setup().channels) {
    const auto uncertainty = channel.scale.role == ChannelRole::slab_rh
                                 ? standard_uncertainty_from(channel, facts.evidence.delivered_at)
                                 : std::nullopt;
    if (uncertainty && requirements.decision.value == DecisionRule::guarded) {
      guard = std::max(guard, kCoverageFactor * *uncertainty);
    }
  }
  return RelativeHumidity{limit.value() - guard};
}

void add_build(SlabOutlook& slab, const RoomFacts& facts) {
  if (!facts.room.slab_build) {
    slab.missing.push_back(
        "No drying forecast: the job does not tell the slab's thickness "
        "(rooms[].slab_build.thickness_mm).");
    return;
  }
  const JobSlabBuild& build = *facts.room.slab_build;
  const auto depth = analysis::readiness::rh_test_depth_from(build.thickness, build.two_sided);
  if (depth) {
    slab.standard_depth = depth.value();
  }
  slab.probe_depth = build.probe_depth ? build.probe_depth : slab.standard_depth;
  if (!build.strength) {
    slab.missing.push_back(
        "The forecast is wider than it need be: the job does not tell the concrete's strength "
        "(rooms[].slab_build.strength_mpa).");
  }
}

void add_tests(SlabOutlook& slab, const RoomFacts& facts) {
  for (const GateResult& gate : facts.assessment.gates) {
    if (gate.id == "slab_emission" || gate.id == "slab_carbide") {
      slab.tests.push_back(gate.reason);
    }
  }
  if (facts.evidence.subfloor_tests.rh) {
    slab.tests.push_back(gate_of(facts, "slab")->reason);
  }
  for (const TestUnderWay& test : tests_under_way(facts.tracker, facts.room, facts.now)) {
    slab.tests.push_back(sentence_from(test));
  }
  const auto& requirements = *facts.room.requirements.slab;
  if (facts.evidence.subfloor_tests.dish && !requirements.emission_high) {
    slab.missing.push_back(
        "A dish test is noted but not judged: the job sets no limit for it "
        "(rooms[].requirements.slab.emission_high_g_per_m2_day).");
  }
  if (facts.evidence.subfloor_tests.carbide && !requirements.carbide_high) {
    slab.missing.push_back(
        "A carbide test is noted but not judged: the job sets no limit for it "
        "(rooms[].requirements.slab.carbide_high_percent).");
  }
}

void add_forecasts(SlabOutlook& slab, const RoomFacts& facts) {
  if (!facts.room.slab_build || slab.probes.empty()) {
    return;
  }
  if (!slab.air_rh) {
    slab.missing.push_back("No drying forecast: no room air was recorded in the last 14 days.");
    return;
  }
  Forecaster forecaster(*slab.air_rh, {slab.forecast_limit, facts.now, slab.horizon_years});
  bool air_outside = false;
  for (SlabProbeOutlook& probe : slab.probes) {
    for (const ChannelSetup& channel : facts.tracker.replay().setup().channels) {
      if (channel.channel_id == probe.channel_id) {
        probe.forecast = forecaster.forecast(history_from(facts, channel, slab, probe));
        air_outside = air_outside || !probe.forecast;
      }
    }
  }
  if (air_outside) {
    slab.missing.push_back(
        "No drying forecast: the mean air above the slab lies outside 5 to 80 %RH.");
  }
}

}  // namespace

std::optional<SlabOutlook> slab_from(const RoomFacts& facts) {
  if (!facts.room.requirements.slab) {
    return std::nullopt;
  }
  SlabOutlook slab;
  slab.limit = facts.room.requirements.slab->rh_high.value;
  slab.forecast_limit = limit_less_guard(facts);
  const auto places = analysis::readiness::places_required_from_area(
      analysis::base::SquareMetres{facts.room.floor_area_m2});
  if (places) {
    slab.places_required = places.value();
  }
  const auto& days = facts.history.air_rh_days;
  if (const auto mean = mean_of_newest(days, kAirDays)) {
    slab.air_rh = RelativeHumidity{*mean};
    slab.air_days = recorded_of_newest(days, kAirDays);
  }
  for (const ChannelSetup& channel : facts.tracker.replay().setup().channels) {
    if (channel.scale.role == ChannelRole::slab_rh) {
      slab.probes.push_back(probe_from(facts, channel));
    }
  }
  if (slab.probes.empty()) {
    slab.missing.push_back(
        "Nothing measures the slab at depth all the time: the job has no channel of role slab_rh "
        "in this room (boxes[].channels[].role).");
  }
  add_build(slab, facts);
  add_forecasts(slab, facts);
  add_tests(slab, facts);
  return slab;
}

std::optional<WoodSubfloorOutlook> wood_subfloor_from(const RoomFacts& facts) {
  WoodSubfloorOutlook wood;
  if (const GateResult* gate = gate_of(facts, "wood_subfloor")) {
    wood.tests.push_back(gate->reason);
  } else if (facts.evidence.subfloor_tests.wood) {
    wood.missing.push_back(
        "A pin test of the wood is noted but not judged: the job sets no limit for it "
        "(rooms[].requirements.wood_subfloor.moisture_high_percent).");
  } else {
    return std::nullopt;
  }
  return wood;
}

}  // namespace logger::app
