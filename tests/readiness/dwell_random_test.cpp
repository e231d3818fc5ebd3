#include <catch2/catch.hpp>
#include <cmath>
#include <random>

#include "analysis/readiness/dwell.hpp"
#include "tests/readiness/dwell_batch.hpp"

using namespace analysis::readiness;
using dwell_batch::GridReading;

namespace {

constexpr unsigned kSeed = 6000;
constexpr int kLogs = 8000;
constexpr std::int64_t kMinute = 60'000'000;

int pick(std::mt19937& random, std::initializer_list<int> choices) {
  std::uniform_int_distribution<std::size_t> index(0, choices.size() - 1);
  return *(choices.begin() + static_cast<std::ptrdiff_t>(index(random)));
}

DwellPolicy random_policy(std::mt19937& random) {
  DwellPolicy policy;
  policy.required = Micros{pick(random, {60, 180, 300, 600, 1200}) * kMinute};
  policy.grace = Micros{pick(random, {0, 5, 15, 15, 30}) * kMinute};
  policy.excursion_budget = Micros{pick(random, {0, 10, 60, 60, 90}) * kMinute};
  policy.longest_unknown = Micros{pick(random, {0, 46, 240, 240}) * kMinute};
  policy.cumulative = pick(random, {0, 0, 0, 0, 1}) == 1;
  return policy;
}

// Mostly steady air with excursions on either channel, gaps and missing channels.
std::vector<GridReading> random_log(std::mt19937& random) {
  std::vector<GridReading> log;
  std::int64_t at = 1'700'000'000'000'000;
  int celsius = 20;
  int rh_steps = 17;
  const int readings = pick(random, {3, 20, 60, 120, 200});
  const bool steady = pick(random, {0, 1}) == 1;
  for (int i = 0; i < readings; ++i) {
    if (!steady || pick(random, {0, 0, 0, 0, 0, 0, 0, 1}) == 1) {
      celsius = pick(random, {13, 16, 17, 18, 20, 20, 20, 22, 23, 24, 27});
      rh_steps = pick(random, {13, 15, 16, 17, 17, 17, 18, 20, 21, 22});
    } else if (celsius < 17 || celsius > 23 || rh_steps < 15 || rh_steps > 20) {
      celsius = pick(random, {celsius, 20, 20});
      rh_steps = pick(random, {rh_steps, 17, 17});
    }
    GridReading reading{at, celsius, rh_steps};
    if (pick(random, {0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1}) == 1) {
      (pick(random, {0, 1}) == 1 ? reading.celsius : reading.rh_steps).reset();
    }
    log.push_back(reading);
    at += pick(random, {5, 5, 5, 7, 10, 10, 15, 15, 15, 20, 30, 45, 46, 240}) * kMinute / 3 *
          pick(random, {1, 2, 3, 3, 3});
  }
  return log;
}

DwellSample sample_from(const GridReading& reading) {
  DwellSample sample{UtcMicros{reading.at_us}, {}, {}};
  if (reading.celsius) {
    sample.temperature = Celsius{static_cast<double>(*reading.celsius)};
  }
  if (reading.rh_steps) {
    sample.rh = analysis::base::rh_from_percent(3.0 * *reading.rh_steps);
  }
  return sample;
}

struct Counted {
  DwellState state;
  std::vector<DwellReset> resets;
};

Counted counted_from(const std::vector<DwellSample>& samples, const DwellPolicy& policy) {
  DwellAccount account(policy);
  Counted counted;
  for (const DwellSample& sample : samples) {
    for (const DwellReset& reset : account.add(sample)) {
      counted.resets.push_back(reset);
    }
  }
  counted.state = account.state();
  return counted;
}

std::vector<DwellSample> samples_from(const std::vector<GridReading>& log) {
  std::vector<DwellSample> samples;
  for (const GridReading& reading : log) {
    samples.push_back(sample_from(reading));
  }
  return samples;
}

double seconds_from(dwell_batch::Exact exact) {
  return static_cast<double>(exact) / static_cast<double>(dwell_batch::kPerMicrosecond) / 1e6;
}

bool near(double a, double b) { return std::abs(a - b) < 1e-5; }

double seconds_since(UtcMicros at, UtcMicros start) {
  return static_cast<double>((at - start).count()) / 1e6;
}

}  // namespace

TEST_CASE("IncrementalAccountEqualsTheBatchDefinition") {
  std::mt19937 random(kSeed);
  INFO("seed " << kSeed);
  int done = 0;
  std::size_t resets = 0;
  for (int i = 0; i < kLogs; ++i) {
    INFO("log " << i);
    const DwellPolicy policy = random_policy(random);
    const std::vector<GridReading> log = random_log(random);
    const dwell_batch::Outcome expected = dwell_batch::outcome_from_log(log, policy);
    const Counted counted = counted_from(samples_from(log), policy);
    const DwellState& state = counted.state;
    const UtcMicros start{log.front().at_us};

    REQUIRE(near(state.in_band_seconds, seconds_from(expected.in_run)));
    REQUIRE(near(state.total_in_seconds, seconds_from(expected.total_in)));
    REQUIRE(near(state.total_out_seconds, seconds_from(expected.total_out)));
    REQUIRE(near(state.total_unknown_seconds, seconds_from(expected.total_unknown)));
    REQUIRE(near(state.total_in_seconds + state.total_out_seconds + state.total_unknown_seconds,
                 seconds_since(UtcMicros{log.back().at_us}, start)));
    REQUIRE(state.done_at.has_value() == expected.done.has_value());
    if (expected.done) {
      ++done;
      REQUIRE(near(seconds_since(*state.done_at, start), seconds_from(*expected.done)));
    }
    REQUIRE(counted.resets.size() == expected.breaks.size());
    REQUIRE(state.resets == static_cast<std::int64_t>(expected.breaks.size()));
    for (std::size_t k = 0; k < expected.breaks.size(); ++k) {
      ++resets;
      REQUIRE(
          near(seconds_since(counted.resets[k].at, start), seconds_from(expected.breaks[k].at)));
      REQUIRE(counted.resets[k].reason == expected.breaks[k].reason);
    }
  }
  // The logs must exercise what they compare.
  CHECK(done > 1000);
  CHECK(resets > 10000);
}

TEST_CASE("InterpolatedReadingsChangeNothing") {
  std::mt19937 random(kSeed + 1);
  INFO("seed " << kSeed + 1);
  std::int64_t inserted = 0;
  for (int i = 0; i < 1000; ++i) {
    INFO("log " << i);
    const DwellPolicy policy = random_policy(random);
    const std::vector<DwellSample> samples = samples_from(random_log(random));
    std::vector<DwellSample> denser{samples.front()};
    for (std::size_t k = 1; k < samples.size(); ++k) {
      const DwellSample& p = samples[k - 1];
      const DwellSample& q = samples[k];
      const bool known =
          q.at - p.at <= policy.longest_interval && p.temperature && p.rh && q.temperature && q.rh;
      for (int part = 1; known && part < 3; ++part) {
        const std::int64_t offset = (q.at - p.at).count() * part / 3;
        const double fraction =
            static_cast<double>(offset) / static_cast<double>((q.at - p.at).count());
        denser.push_back(
            {p.at + Micros{offset},
             Celsius{std::lerp(p.temperature->value(), q.temperature->value(), fraction)},
             RelativeHumidity{std::lerp(p.rh->value(), q.rh->value(), fraction)}});
        ++inserted;
      }
      denser.push_back(q);
    }
    const Counted plain = counted_from(samples, policy);
    const Counted dense = counted_from(denser, policy);
    REQUIRE(near(plain.state.in_band_seconds, dense.state.in_band_seconds));
    REQUIRE(near(plain.state.total_in_seconds, dense.state.total_in_seconds));
    REQUIRE(near(plain.state.total_out_seconds, dense.state.total_out_seconds));
    REQUIRE(near(plain.state.excursion_sum_seconds, dense.state.excursion_sum_seconds));
    REQUIRE(plain.state.done_at.has_value() == dense.state.done_at.has_value());
    REQUIRE(plain.state.counting == dense.state.counting);
    REQUIRE(plain.resets.size() == dense.resets.size());
    for (std::size_t k = 0; k < plain.resets.size(); ++k) {
      REQUIRE(near(seconds_since(plain.resets[k].at, dense.resets[k].at), 0.0));
    }
    REQUIRE(plain.state.run_temperature_min.has_value() ==
            dense.state.run_temperature_min.has_value());
    if (plain.state.run_temperature_min) {
      REQUIRE(
          near(plain.state.run_temperature_min->value(), dense.state.run_temperature_min->value()));
      REQUIRE(near(plain.state.run_rh_max->value(), dense.state.run_rh_max->value()));
    }
  }
  CHECK(inserted > 10000);
}

TEST_CASE("ResumingFromACopiedStateChangesNothing") {
  std::mt19937 random(kSeed + 2);
  INFO("seed " << kSeed + 2);
  for (int i = 0; i < 300; ++i) {
    INFO("log " << i);
    const DwellPolicy policy = random_policy(random);
    const std::vector<DwellSample> samples = samples_from(random_log(random));
    const Counted whole = counted_from(samples, policy);
    std::vector<DwellReset> resets;
    DwellState state;
    for (const DwellSample& sample : samples) {
      DwellAccount account(policy, state);  // a restart before every single reading
      for (const DwellReset& reset : account.add(sample)) {
        resets.push_back(reset);
      }
      state = account.state();
    }
    REQUIRE(state == whole.state);
    REQUIRE(resets.size() == whole.resets.size());
  }
}
