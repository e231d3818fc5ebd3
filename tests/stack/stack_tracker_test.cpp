#include "analysis/readiness/stack/stack_tracker.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <numbers>
#include <random>
#include <vector>

#include "analysis/physics/stack/warm_up.hpp"

using namespace analysis::readiness;
using analysis::base::hours_from;
using analysis::base::micros_from_hours;
using namespace analysis::physics;

namespace {

constexpr UtcMicros kDelivered{1'700'000'000'000'000};
constexpr StackGeometry kStack{Metres{1.29}, Metres{0.195}, Metres{0.54}, StackBottom::on_floor};

UtcMicros at_hour(double h) { return kDelivered + micros_from_hours(h); }
double hour_of(const std::optional<UtcMicros>& at) {
  REQUIRE(at.has_value());
  return hours_from(*at - kDelivered);
}

StackTracker tracker_from(double delivery_celsius, const StackGeometry& geometry = kStack) {
  return StackTracker::start(geometry, {kDelivered, Celsius{delivery_celsius}}, {}).value();
}

using AirAtHour = std::function<double(double)>;

// Samples of the air every `minutes` over hours from..to, the first at `from`.
std::vector<StackSample> samples(double from, double to, double minutes, const AirAtHour& air) {
  std::vector<StackSample> made;
  for (double h = from; h <= to + 1e-9; h += minutes / 60.0) {
    made.push_back({at_hour(h), Celsius{air(h)}, std::nullopt});
  }
  return made;
}

void add_all(StackTracker& tracker, const std::vector<StackSample>& all) {
  for (const StackSample& sample : all) {
    tracker.add(sample);
  }
}

double steady(double) { return 20.0; }
double daily(double h) { return 17.0 + 4.0 * std::sin(2.0 * std::numbers::pi * h / 24.0); }

// The core as a stack of `material` in that air would show it, stepping by `minutes`.
double core_celsius(const StackMaterial& material, double delivery, double until, double minutes,
                    const AirAtHour& air) {
  StackField field = StackField::start(kStack, material, Celsius{delivery}).value();
  for (double h = 0.0; h < until - 1e-9; h += minutes / 60.0) {
    field.step(micros_from_hours(minutes / 60.0), Celsius{air(h)},
               Celsius{air(h + minutes / 60.0)});
  }
  return field.coldest_when_warming().value();
}

double hours_to_warm(const StackMaterial& material) {
  return hours_from(*time_until_within(StackField::start(kStack, material, Celsius{2.0}).value(),
                                       Celsius{20.0}, KelvinDelta{1.0}, micros_from_hours(500)));
}

}  // namespace

TEST_CASE("SteadyRoomWarmsEachSetWhenTheFieldDoes") {
  StackTracker tracker = tracker_from(2.0);
  add_all(tracker, samples(0.0, 100.0, 15.0, steady));
  const StackResult result = tracker.result();
  // Judged at the end of each step of 15 min.
  CHECK(hour_of(result.fast.warm_at) == Approx(hours_to_warm(kFastStack)).margin(0.26));
  CHECK(hour_of(result.mid.warm_at) == Approx(hours_to_warm(kMidStack)).margin(0.26));
  CHECK(hour_of(result.slow.warm_at) == Approx(hours_to_warm(kSlowStack)).margin(0.26));
  CHECK(result.fast.warm_at < result.mid.warm_at);
  CHECK(result.mid.warm_at < result.slow.warm_at);
  CHECK_FALSE(result.following);
  CHECK_FALSE(result.measured);
  CHECK(result.unknown_air == Micros{0});
  CHECK(result.arming_number == 1);
  CHECK(result.air_mean == Celsius{20.0});
}

TEST_CASE("CoreNowFollowsTheFieldAlsoWithinAnOpenStep") {
  StackTracker tracker = tracker_from(2.0);
  add_all(tracker, samples(0.0, 24.0, 7.0, daily));
  const StackResult result = tracker.result();
  const double until = hours_from(result.at - kDelivered);
  CHECK(until > 23.8);
  CHECK_FALSE(result.mid.warm_at.has_value());
  CHECK(result.fast.temperature.value() ==
        Approx(core_celsius(kFastStack, 2.0, until, 1.0, daily)).margin(0.02));
  CHECK(result.mid.temperature.value() ==
        Approx(core_celsius(kMidStack, 2.0, until, 1.0, daily)).margin(0.02));
  CHECK(result.slow.temperature.value() ==
        Approx(core_celsius(kSlowStack, 2.0, until, 1.0, daily)).margin(0.02));
}

TEST_CASE("AnswersDoNotDependOnReadingsInsertedOnTheLine") {
  StackTracker coarse = tracker_from(2.0);
  StackTracker fine = tracker_from(2.0);
  add_all(coarse, samples(0.0, 48.0, 30.0, steady));
  add_all(fine, samples(0.0, 48.0, 4.0, steady));
  const auto mid = [](const StackTracker& t) { return t.result().mid.temperature.value(); };
  CHECK(mid(coarse) == Approx(mid(fine)).margin(1e-9));
  const auto broken_line = [](double h) {
    return h < 24.0 ? 20.0 - h / 4.0 : 14.0 + (h - 24.0) / 3.0;
  };
  StackTracker rough = tracker_from(2.0);
  StackTracker dense = tracker_from(2.0);
  add_all(rough, samples(0.0, 48.0, 40.0, broken_line));
  add_all(dense, samples(0.0, 48.0, 5.0, broken_line));
  CHECK(mid(rough) == Approx(mid(dense)).margin(1e-9));
}

TEST_CASE("MergingNoisyReadingsCostsLessThanFiveHundredths") {
  const unsigned seed = 20240613;
  CAPTURE(seed);
  std::mt19937 random{seed};
  std::normal_distribution<double> noise{0.0, 0.3};
  for (const double minutes : {1.0, 5.0}) {
    for (const StackGeometry& g : {kStack, StackGeometry{Metres{1.29}, Metres{0.195}, Metres{0.09},
                                                         StackBottom::on_battens}}) {
      // A heater that goes on and off every 40 min, a daily swing, a door, and noise.
      std::vector<StackSample> all = samples(0.0, 72.0, minutes, [&](double h) {
        return daily(h) + (std::fmod(h, 4.0 / 3.0) < 2.0 / 3.0 ? 1.0 : -1.0) +
               (h > 30.0 && h < 30.3 ? -8.0 : 0.0) + noise(random);
      });
      StackTracker merged = tracker_from(2.0, g);
      StackField plain = StackField::start(g, kMidStack, Celsius{2.0}).value();
      double worst = 0.0;
      for (std::size_t i = 0; i < all.size(); ++i) {
        merged.add(all[i]);
        if (i > 0) {
          plain.step(all[i].at - all[i - 1].at, *all[i - 1].air, *all[i].air);
        }
        if (i % static_cast<std::size_t>(60.0 / minutes) == 7 && !merged.state().follower) {
          const double now = merged.result().mid.temperature.value();
          worst = std::max(worst, std::abs(now - plain.coldest_when_warming().value()));
        }
      }
      CAPTURE(minutes, g.height.value(), worst);
      CHECK(worst < 0.05);
      CHECK(worst > 0.0);
    }
  }
}

TEST_CASE("AGapIsBridgedCountedAndNeverWarm") {
  StackTracker tracker = tracker_from(2.0);
  add_all(tracker, samples(0.0, 30.0, 15.0, steady));
  CHECK(tracker.result().unknown_air == Micros{0});
  add_all(tracker, samples(120.0, 120.0, 15.0, steady));
  StackResult result = tracker.result();
  CHECK(hours_from(result.unknown_air) == Approx(90.0));
  CHECK(hours_from(result.unknown_air_felt) < 90.0);
  CHECK(hours_from(result.unknown_air_felt) > 10.0);
  CHECK_FALSE(result.mid.warm_at.has_value());
  add_all(tracker, samples(120.25, 120.25, 15.0, steady));
  result = tracker.result();
  CHECK(hour_of(result.mid.warm_at) == Approx(120.25));
  CHECK(hours_from(result.unknown_air) == Approx(90.0));
  add_all(tracker, samples(120.5, 600.0, 15.0, steady));
  CHECK(hours_from(tracker.result().unknown_air) == Approx(90.0));
  CHECK(hours_from(tracker.result().unknown_air_felt) < 0.05);
}

TEST_CASE("AnIntervalOfTheLongestLengthIsKnown") {
  for (const double minutes : {45.0, 46.0}) {
    StackTracker tracker = tracker_from(2.0);
    add_all(tracker, samples(0.0, 9.2, minutes, steady));
    CHECK((tracker.result().unknown_air > Micros{0}) == (minutes > 45.0));
  }
}

TEST_CASE("AirBeforeTheFirstReadingIsUnknownAndReadingsBeforeTheDeliveryGiveTheFirst") {
  StackTracker late = tracker_from(2.0);
  add_all(late, samples(5.0, 6.0, 15.0, steady));
  CHECK(hours_from(late.result().unknown_air) == Approx(5.0));
  StackTracker early = tracker_from(2.0);
  add_all(early, samples(-3.0, 6.0, 20.0, steady));
  CHECK(early.result().unknown_air == Micros{0});
  CHECK(early.result().at == at_hour(6.0));
  StackTracker none = tracker_from(2.0);
  CHECK(none.result().mid.temperature == Celsius{2.0});
  CHECK(none.result().at == kDelivered);
  CHECK_FALSE(none.time_to_warm().has_value());
}

TEST_CASE("LateRepeatedAndImpossibleReadingsAreLeftOut") {
  StackTracker clean = tracker_from(2.0);
  StackTracker dirty = tracker_from(2.0);
  for (const StackSample& sample : samples(0.0, 20.0, 15.0, daily)) {
    clean.add(sample);
    dirty.add(sample);
    dirty.add({sample.at, Celsius{40.0}, std::nullopt});
    dirty.add({sample.at - Micros{1}, Celsius{40.0}, std::nullopt});
    for (const double bad : {std::numeric_limits<double>::quiet_NaN(), 1e300, -61.0}) {
      dirty.add({sample.at + Micros{1}, Celsius{bad}, Celsius{bad}});
    }
    dirty.add({sample.at + Micros{1}, std::nullopt, std::nullopt});
  }
  CHECK(clean.state() == dirty.state());
  CHECK(clean.result() == dirty.result());
}

TEST_CASE("OnceSettledTheTrackerFollowsAndArmsAgainWhenTheRoomMovesAway") {
  StackTracker tracker = tracker_from(2.0);
  add_all(tracker, samples(0.0, 200.0, 15.0, steady));
  REQUIRE(tracker.result().following);
  const auto mild = [](double) { return 18.5; };
  add_all(tracker, samples(200.25, 210.0, 15.0, mild));
  CHECK(tracker.result().arming_number == 1);
  CHECK(tracker.result().slow.warm_at.has_value());
  CHECK(tracker.result().mid.temperature.value() > 18.5);
  add_all(tracker, samples(210.25, 500.0, 15.0, mild));
  CHECK(tracker.result().mid.temperature.value() == Approx(18.5).margin(0.01));
  add_all(tracker, samples(500.25, 506.0, 15.0, [](double) { return 8.0; }));
  const StackResult cold = tracker.result();
  CHECK(cold.arming_number == 2);
  CHECK_FALSE(cold.following);
  CHECK_FALSE(cold.mid.warm_at.has_value());
  CHECK(hours_from(cold.armed_at - kDelivered) < 503.0);
  CHECK(cold.mid.temperature.value() > 15.0);
  add_all(tracker, samples(506.25, 700.0, 15.0, [](double) { return 8.0; }));
  const StackResult settled = tracker.result();
  CHECK(settled.following);
  CHECK(settled.arming_number == 2);
  CHECK(hour_of(settled.slow.warm_at) > 550.0);
}

TEST_CASE("ACoreThatTheNightAirComesDownToIsNotWarmNextDay") {
  // 21 deg C for 12 h, 5 deg C for 12 h: a core that has come to 5 is near the air in the night.
  const auto nights = [](double h) { return std::fmod(h, 24.0) < 12.0 ? 21.0 : 5.0; };
  StackTracker tracker = tracker_from(2.0);
  bool near_at_night = false;
  for (const StackSample& sample : samples(0.0, 36.0, 15.0, nights)) {
    tracker.add(sample);
    near_at_night = near_at_night || tracker.result().mid.warm_at.has_value();
  }
  CHECK(near_at_night);
  CHECK_FALSE(tracker.result().mid.warm_at.has_value());
  CHECK_FALSE(tracker.result().following);
  CHECK(tracker.result().mid.temperature.value() ==
        Approx(core_celsius(kMidStack, 2.0, 36.0, 15.0, nights)).margin(0.1));
}

TEST_CASE("NothingIsWarmInTheFirstThreeHours") {
  StackTracker tracker = tracker_from(19.8);
  add_all(tracker, samples(0.0, 2.75, 15.0, steady));
  CHECK_FALSE(tracker.result().mid.warm_at.has_value());
  CHECK_FALSE(tracker.result().air_mean.has_value());
  add_all(tracker, samples(3.0, 3.0, 15.0, steady));
  CHECK(hour_of(tracker.result().mid.warm_at) == Approx(3.0));
}

TEST_CASE("AProbeReplacesTheComputedCoreWhileItIsFresh") {
  StackTracker tracker = tracker_from(2.0);
  for (StackSample sample : samples(0.0, 60.0, 15.0, steady)) {
    const double h = hours_from(sample.at - kDelivered);
    sample.core = Celsius{std::min(20.0, 2.0 + h * 0.5)};  // not like any of the sets
    tracker.add(sample);
  }
  StackResult result = tracker.result();
  CHECK(result.measured);
  CHECK(result.fast == result.slow);
  CHECK(result.mid.temperature == Celsius{20.0});
  CHECK(hour_of(result.mid.warm_at) == Approx(34.0));
  add_all(tracker, samples(60.25, 61.0, 15.0, steady));  // the probe falls silent
  result = tracker.result();
  CHECK_FALSE(result.measured);
  CHECK(result.mid.temperature < Celsius{20.0});
  CHECK(hour_of(result.slow.warm_at) == Approx(34.0));  // what the probe has shown stays shown
}

TEST_CASE("AProbeNarrowsTheRangeToTheMaterialItShows") {
  const unsigned seed = 20240614;
  CAPTURE(seed);
  std::mt19937 random{seed};
  std::normal_distribution<double> noise{0.0, 0.3};
  struct Case {
    StackMaterial truth;
    std::size_t set;
  };
  for (const Case& c : {Case{kFastStack, 0}, Case{kMidStack, 2}, Case{kSlowStack, 4}}) {
    for (const double bias : {-0.3, 0.0, 0.3}) {
      StackTracker tracker = tracker_from(2.0);
      StackField truth = StackField::start(kStack, c.truth, Celsius{2.0}).value();
      for (StackSample sample : samples(0.0, 30.0, 15.0, steady)) {
        if (sample.at > kDelivered) {
          truth.step(micros_from_hours(0.25), Celsius{20.0}, Celsius{20.0});
        }
        sample.core = Celsius{truth.coldest_when_warming().value() + bias + noise(random)};
        tracker.add(sample);
      }
      const StackTrackerState state = tracker.state();
      CAPTURE(c.set, bias, state.misfit.comparisons);
      CHECK(state.misfit.comparisons == 30);
      const StackSetRange range = plausible_sets(state.misfit);
      CHECK(range.mid == c.set);
      CHECK(range.fast <= c.set);
      CHECK(range.slow >= c.set);
      CHECK(range.slow - range.fast <= 2);
      const auto times = tracker.time_to_warm();
      REQUIRE(times.has_value());
      CHECK(*times->fast < *times->slow);
    }
  }
}

TEST_CASE("TheNarrowedRangeStillHoldsTheTimeOfARandomMaterial") {
  // Every property drawn on its own between the fast and the slow set; a probe with 0.3 K of error
  // common to its readings and 0.3 K of noise, for 24 h.
  const unsigned seed = 20240617;
  CAPTURE(seed);
  std::mt19937 random{seed};
  std::normal_distribution<double> normal;
  const auto between = [&](double low, double high) {
    return low * std::pow(high / low, std::uniform_real_distribution<double>{0.0, 1.0}(random));
  };
  StackTracker blind = tracker_from(2.0);
  add_all(blind, samples(0.0, 24.0, 15.0, steady));
  const auto whole = blind.time_to_warm().value();
  const double whole_hours = hours_from(*whole.slow - *whole.fast);
  int held = 0;
  double narrowed_hours = 0.0;
  constexpr int kRuns = 25;
  for (int run = 0; run < kRuns; ++run) {
    StackMaterial m = kFastStack;
    for (double StackMaterial::*property :
         {&StackMaterial::conductivity_in_plane_w_per_m_k,
          &StackMaterial::conductivity_across_w_per_m_k, &StackMaterial::density_kg_per_m3,
          &StackMaterial::heat_capacity_j_per_kg_k, &StackMaterial::film_w_per_m2_k}) {
      m.*property = between(kFastStack.*property, kSlowStack.*property);
    }
    StackTracker probed = tracker_from(2.0);
    StackField truth = StackField::start(kStack, m, Celsius{2.0}).value();
    const double bias = 0.3 * normal(random);
    for (StackSample sample : samples(0.0, 24.0, 15.0, steady)) {
      if (sample.at > kDelivered) {
        truth.step(micros_from_hours(0.25), Celsius{20.0}, Celsius{20.0});
      }
      sample.core = truth.coldest_when_warming() + KelvinDelta{bias + 0.3 * normal(random)};
      probed.add(sample);
    }
    const auto narrowed = probed.time_to_warm().value();
    const auto exact =
        time_until_within(truth, Celsius{20.0}, KelvinDelta{1.0}, micros_from_hours(500));
    held += *narrowed.fast <= *exact && *exact <= *narrowed.slow ? 1 : 0;
    narrowed_hours += hours_from(*narrowed.slow - *narrowed.fast);
  }
  CAPTURE(held, narrowed_hours / whole_hours / kRuns);
  CHECK(held >= 22);
  CHECK(narrowed_hours < 0.6 * whole_hours * kRuns);
}

TEST_CASE("ACommonErrorOfTheProbeIsNotAveragedAway") {
  // 100 comparisons that are all 0.6 K off: twice the common error, not 20 times the noise.
  ProbeMisfit misfit{.comparisons = 100};
  misfit.sum_kelvin.fill(60.0);
  misfit.sum_kelvin2.fill(36.0);
  CHECK(weighted_misfit(misfit, 0) == Approx(400.0 - 400.0 * 100.0 / 101.0).epsilon(1e-9));
  CHECK(plausible_sets({}) == StackSetRange{0, 2, 4});
}

TEST_CASE("ProbeIsNotComparedOnceAirWasUnknown") {
  StackTracker tracker = tracker_from(2.0);
  for (StackSample sample : samples(2.0, 20.0, 15.0, steady)) {
    sample.core = Celsius{9.0};
    tracker.add(sample);
  }
  CHECK(tracker.state().misfit.comparisons == 0);
}

TEST_CASE("ComparisonsAreMadeAtTheTimeOfTheProbeReading") {
  // The mid material itself, read by the probe at times that are no ends of steps.
  StackTracker tracker = tracker_from(2.0);
  StackField truth = StackField::start(kStack, kMidStack, Celsius{2.0}).value();
  for (StackSample sample : samples(0.0, 40.0, 7.0, steady)) {
    if (sample.at > kDelivered) {
      truth.step(micros_from_hours(7.0 / 60.0), Celsius{20.0}, Celsius{20.0});
    }
    sample.core = truth.coldest_when_warming();
    tracker.add(sample);
  }
  const ProbeMisfit misfit = tracker.state().misfit;
  CHECK(misfit.comparisons >= 34);
  CHECK(std::abs(misfit.sum_kelvin[kMidSet]) / static_cast<double>(misfit.comparisons) < 0.01);
}

TEST_CASE("AProbeReadingThatComesAfterItsStepIsNotCompared") {
  StackTracker tracker = tracker_from(2.0);
  add_all(tracker, samples(0.0, 10.0, 15.0, steady));
  tracker.add({at_hour(5.0), std::nullopt, Celsius{9.0}});
  add_all(tracker, samples(10.25, 11.0, 15.0, steady));
  CHECK(tracker.state().misfit.comparisons == 0);
  tracker.add({at_hour(11.1), std::nullopt, Celsius{9.0}});
  add_all(tracker, samples(11.25, 12.0, 15.0, steady));
  CHECK(tracker.state().misfit.comparisons == 1);
}

TEST_CASE("AProbeFarFromTheRoomArmsAgainAtItsOwnTemperature") {
  StackTracker tracker = tracker_from(2.0);
  add_all(tracker, samples(0.0, 200.0, 15.0, steady));
  REQUIRE(tracker.result().following);
  for (StackSample sample : samples(200.25, 201.0, 15.0, steady)) {
    sample.core = Celsius{12.0};  // fresh cold cartons have come, say
    tracker.add(sample);
    CHECK(tracker.result().measured);  // arming doesn't forget the reading that caused it
  }
  CHECK(tracker.state().arming.number == 2);
  CHECK(tracker.state().arming.temperature == Celsius{12.0});
  CHECK_FALSE(tracker.result().slow.warm_at.has_value());
}

TEST_CASE("ArmingAgainKeepsWhatTheProbeHasShownAndWhatIsStillDoubtful") {
  StackTracker tracker = tracker_from(2.0);
  for (StackSample sample : samples(0.0, 200.0, 15.0, steady)) {
    sample.core = Celsius{18.0};
    tracker.add(sample);
  }
  add_all(tracker, samples(220.0, 222.0, 15.0, [](double) { return 8.0; }));
  const StackTrackerState state = tracker.state();
  REQUIRE(state.arming.number == 2);
  CHECK(state.misfit.comparisons > 100);
  // It armed within the gap, on air that is an estimate: that part stays felt.
  CHECK(hours_from(tracker.result().unknown_air) < 20.0);
  CHECK(state.arming.unknown_felt_s > 4.0 * 3600.0);
  // The reading before the gap belongs to the arming: without it the replay has another air.
  StackTracker again = StackTracker::resume(kStack, state, {}).value();
  CHECK(again.needs_samples_from() == at_hour(200.0) + Micros{1});
  add_all(again, samples(220.0, 222.0, 15.0, [](double) { return 8.0; }));
  CHECK(again.state() == state);
}

TEST_CASE("AFreshProbeWithinTheLimitIsWarmNow") {
  StackTracker tracker = tracker_from(2.0);
  for (StackSample sample : samples(0.0, 5.0, 15.0, steady)) {
    sample.core = Celsius{19.5};
    tracker.add(sample);
  }
  CHECK(tracker.time_to_warm()->slow == Micros{0});
  add_all(tracker, samples(5.25, 7.0, 15.0, steady));
  CHECK(tracker.time_to_warm()->slow > Micros{0});
}

TEST_CASE("TimeToWarmCountsFromNow") {
  StackTracker tracker = tracker_from(2.0);
  add_all(tracker, samples(0.0, 24.0, 15.0, steady));
  const auto times = tracker.time_to_warm();
  REQUIRE(times.has_value());
  CHECK(hours_from(*times->fast) == Approx(hours_to_warm(kFastStack) - 24.0).margin(0.01));
  CHECK(hours_from(*times->mid) == Approx(hours_to_warm(kMidStack) - 24.0).margin(0.01));
  CHECK(hours_from(*times->slow) == Approx(hours_to_warm(kSlowStack) - 24.0).margin(0.01));
  const auto near = tracker.time_to_warm(micros_from_hours(30));
  CHECK(near->fast.has_value());
  CHECK_FALSE(near->slow.has_value());
  add_all(tracker, samples(24.25, 120.0, 15.0, steady));
  CHECK(tracker.time_to_warm()->slow == Micros{0});
}

TEST_CASE("AStoppedTrackerGoesOnBitForBit") {
  const unsigned seed = 20240615;
  CAPTURE(seed);
  std::mt19937 random{seed};
  // Warms, follows, is left cold, warms again; with gaps, a probe for a part, and odd times.
  std::vector<StackSample> all;
  double h = -1.0;
  while (h < 420.0) {
    StackSample sample{at_hour(h), std::nullopt, std::nullopt};
    const double room = h < 200.0 ? 20.0 : 9.0;
    if (random() % 10 != 0) {
      sample.air = Celsius{room + std::sin(h / 4.0) + 0.01 * static_cast<double>(random() % 60)};
    }
    if (h > 10.0 && h < 260.0 && random() % 3 == 0) {
      sample.core = Celsius{9.0 + 11.0 * std::exp(-std::max(0.0, h - 200.0) / 60.0)};
    }
    all.push_back(sample);
    h += random() % 40 == 0 ? 3.0 : 0.02 + 0.01 * static_cast<double>(random() % 40);
  }
  StackTracker whole = tracker_from(2.0);
  add_all(whole, all);
  CHECK(whole.result().arming_number >= 2);
  CHECK(whole.result().unknown_air_felt > Micros{0});
  // Random stops, and every one soon after an arming.
  std::vector<std::size_t> stops;
  StackTracker watched = tracker_from(2.0);
  for (std::size_t i = 0; i < all.size(); ++i) {
    const std::int64_t number = watched.state().arming.number;
    watched.add(all[i]);
    for (std::size_t k = 1; watched.state().arming.number != number && k <= 3; ++k) {
      stops.push_back(i + k);
    }
  }
  REQUIRE(stops.size() >= 3);
  for (int random_stops = 0; random_stops < 3; ++random_stops) {
    stops.push_back(random() % all.size());
  }
  for (const std::size_t stop : stops) {
    StackTracker first = tracker_from(2.0);
    add_all(first, {all.begin(), all.begin() + static_cast<std::ptrdiff_t>(stop)});
    StackTracker second = StackTracker::resume(kStack, first.state(), {}).value();
    const UtcMicros from = second.needs_samples_from();
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (i == stop) {
        CAPTURE(stop);
        REQUIRE(second.state() == first.state());
        REQUIRE(second.result() == first.result());
      }
      if (all[i].at >= from) {
        second.add(all[i]);
      }
    }
    CAPTURE(stop);
    REQUIRE(second.state() == whole.state());
    REQUIRE(second.result() == whole.result());
  }
}

TEST_CASE("FollowingOnlyNewSamplesAreNeeded") {
  StackTracker tracker = tracker_from(2.0);
  add_all(tracker, samples(0.0, 200.0, 15.0, steady));
  REQUIRE(tracker.state().follower.has_value());
  const auto resumed = StackTracker::resume(kStack, tracker.state(), {}).value();
  CHECK(resumed.needs_samples_from() > at_hour(199.9));
  CHECK(resumed.result() == tracker.result());
}

TEST_CASE("AClockYearsAheadIsBridgedInBoundedWork") {
  StackTracker tracker = tracker_from(2.0);
  add_all(tracker, samples(0.0, 5.0, 15.0, steady));
  tracker.add({at_hour(24.0 * 365.0), Celsius{20.0}, std::nullopt});
  CHECK(hours_from(tracker.result().unknown_air) == Approx(24.0 * 365.0 - 5.0));
  CHECK(tracker.result().mid.temperature.value() == Approx(20.0).margin(1e-6));
  CHECK_FALSE(tracker.result().mid.warm_at.has_value());
  CHECK(tracker.result().following);  // the fields were not stepped through all of it
}

TEST_CASE("ImpossiblePoliciesAndDeliveriesAreErrors") {
  const auto error_of = [](StackTrackerPolicy policy, double delivery) {
    return StackTracker::start(kStack, {kDelivered, Celsius{delivery}}, policy).error();
  };
  CHECK(error_of({.within = KelvinDelta{0.0}}, 2.0) == DomainError::temperature_out_of_domain);
  CHECK(error_of({.away = KelvinDelta{1.0}}, 2.0) == DomainError::temperature_out_of_domain);
  CHECK(error_of({.longest_interval = Micros{0}}, 2.0) == DomainError::duration_out_of_domain);
  CHECK(error_of({}, 90.0) == DomainError::temperature_out_of_domain);
  StackGeometry flat = kStack;
  flat.height = Metres{0.0};
  CHECK(StackTracker::start(flat, {kDelivered, Celsius{2.0}}, {}).error() ==
        DomainError::length_out_of_domain);
  StackTrackerState broken = tracker_from(2.0).state();
  broken.follower = Celsius{std::numeric_limits<double>::quiet_NaN()};
  CHECK(StackTracker::resume(kStack, broken, {}).error() == DomainError::temperature_out_of_domain);
}
