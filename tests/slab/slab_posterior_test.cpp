#include "analysis/readiness/slab/slab_posterior.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>

#include "tests/slab/slab_history.hpp"

using namespace slab_history;

namespace {

// r' C^-1 r by elimination on the whole covariance matrix.
double dense_misfit(const std::vector<double>& residual, const std::vector<double>& days,
                    const ProbeUncertainty& probe) {
  const std::size_t n = residual.size();
  double mean_day = 0.0;
  for (const double day : days) {
    mean_day += day / static_cast<double>(n);
  }
  const double common = std::pow(probe.bias.value(), 2) + std::pow(probe.depth.value(), 2);
  std::vector<std::vector<double>> rows(n, std::vector<double>(n + 1));
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j) {
      rows[i][j] = common + 1e-8 * (days[i] - mean_day) * (days[j] - mean_day) +
                   (i == j ? std::pow(probe.noise.value(), 2) : 0.0);
    }
    rows[i][n] = residual[i];
  }
  for (std::size_t k = 0; k < n; ++k) {
    for (std::size_t i = k + 1; i < n; ++i) {
      const double factor = rows[i][k] / rows[k][k];
      for (std::size_t j = k; j <= n; ++j) {
        rows[i][j] -= factor * rows[k][j];
      }
    }
  }
  double form = 0.0;
  std::vector<double> solved(n);
  for (std::size_t i = n; i-- > 0;) {
    double rest = rows[i][n];
    for (std::size_t j = i + 1; j < n; ++j) {
      rest -= rows[i][j] * solved[j];
    }
    solved[i] = rest / rows[i][i];
    form += solved[i] * residual[i];
  }
  return form;
}

ForecastEvidence random_evidence(std::mt19937_64& random, std::size_t count) {
  std::normal_distribution<double> noise{0.0, 0.01};
  std::uniform_real_distribution<double> gap{0.3, 9.0};
  ForecastEvidence evidence;
  evidence.drying_length = Metres{0.12};
  double day = 0.0;
  for (std::size_t i = 0; i < count; ++i) {
    evidence.observations.push_back({DryingTime{86400.0 * (30.0 + day)}, day,
                                     RelativeHumidity{0.93 - 0.001 * day + noise(random)}});
    day += gap(random);
  }
  return evidence;
}

}  // namespace

TEST_CASE("PriorWeightsSumToOneAndFavourTheModelCode") {
  double sum = 0.0;
  double largest = 0.0;
  for (const auto& entry : library_in_air_of_50_percent().entries()) {
    sum += entry.weight;
    largest = std::max(largest, entry.weight);
  }
  CHECK(library_in_air_of_50_percent().entries().size() == 330);
  CHECK(sum == Approx(1.0).epsilon(1e-12));
  // Middle RH 0.80 weighs 1 / (1 + 2 exp(-8/9) + 2 exp(-32/9)); half the dry share, 0.6 of n.
  const double middle = 1.0 / (1.0 + 2.0 * std::exp(-8.0 / 9.0) + 2.0 * std::exp(-32.0 / 9.0));
  CHECK(largest == Approx(middle * 0.5 * 0.6 / 11.0).epsilon(1e-12));
}

TEST_CASE("LibraryHoldsEachCurveWithTheWeightOfItsParameters") {
  const auto& entries = library_in_air_of_50_percent().entries();
  const double shares[][2] = {{0.025, 0.25}, {0.05, 0.5}, {0.1, 0.25}};
  const double steepness[][2] = {{8.0, 0.4}, {15.0, 0.6}};
  double density_sum = 0.0;
  for (int i = 0; i < 5; ++i) {
    density_sum += std::exp(-0.5 * std::pow((0.72 + 0.04 * i - 0.80) / 0.03, 2));
  }
  std::size_t entry = 7;  // initial RH 97 %
  for (int i = 0; i < 5; ++i) {
    const double middle = 0.72 + 0.04 * i;
    const double density = std::exp(-0.5 * std::pow((middle - 0.80) / 0.03, 2)) / density_sum;
    for (const auto& share : shares) {
      for (const auto& steep : steepness) {
        CAPTURE(middle, share[0], steep[0]);
        const auto table =
            physics::DiffusivityTable::from_shape({share[0], RelativeHumidity{middle}, steep[0]});
        const auto curve = physics::DryingCurve::solve(table.value(), RelativeHumidity{0.97},
                                                       RelativeHumidity{0.50});
        CHECK(entries[entry].weight == Approx(density * share[1] * steep[1] / 11.0).epsilon(1e-12));
        CHECK(entries[entry].curve.crossing_of(RelativeHumidity{0.8})->value() ==
              Approx(curve.value().crossing_of(RelativeHumidity{0.8})->value()).epsilon(1e-9));
        entry += 11;
      }
    }
  }
}

TEST_CASE("LibraryOutsideItsDomainIsRefused") {
  for (const double air : {0.04, 0.81, std::numeric_limits<double>::quiet_NaN()}) {
    CHECK(DryingLibrary::solve(RelativeHumidity{air}).error() ==
          physics::DomainError::rh_out_of_domain);
  }
}

TEST_CASE("DiffusivityPriorFollowsTheStrength") {
  CHECK(diffusivity_prior_from(base::Megapascals{40.0}).centre.value() == Approx(2.5e-10));
  CHECK(diffusivity_prior_from(base::Megapascals{40.0}).log_deviation == 0.45);
  CHECK(diffusivity_prior_from(std::nullopt).centre.value() == Approx(3.5e-10));
  CHECK(diffusivity_prior_from(std::nullopt).log_deviation == 0.6);
}

TEST_CASE("PosteriorWeightsAgreeWithADenseCovariance") {
  constexpr std::uint64_t kSeed = 201;
  std::mt19937_64 random{kSeed};
  const auto& entries = library_in_air_of_50_percent().entries();
  const DiffusivityPrior prior{base::SquareMetresPerSecond{3e-10}, 0.45};
  const ProbeUncertainty probe;
  for (const std::size_t count : {3U, 7U}) {
    CAPTURE(kSeed, count);
    const ForecastEvidence evidence = random_evidence(random, count);
    const SlabPosterior posterior = slab_posterior_from(library_in_air_of_50_percent(), evidence,
                                                        prior, probe, RelativeHumidity{0.85});
    REQUIRE(posterior.nodes.size() == entries.size() * 25);
    const auto log_weight = [&](std::size_t node) {
      const auto& entry = entries[node / 25];
      const double z = 6.0 * static_cast<double>(node % 25) / 24.0 - 3.0;
      const double per_second = 3e-10 * std::exp(0.45 * z) / (0.12 * 0.12);
      std::vector<double> residual, days;
      for (const auto& each : evidence.observations) {
        const auto place =
            physics::curve_place_from(physics::ScaledTime{per_second * each.since_start.count()});
        residual.push_back(each.rh.value() - entry.curve.rh_at(place).value());
        days.push_back(each.day);
      }
      return std::log(entry.weight) - 0.5 * z * z - 0.5 * dense_misfit(residual, days, probe);
    };
    std::size_t best = 0;
    double sum = 0.0;
    for (std::size_t i = 0; i < posterior.nodes.size(); ++i) {
      sum += posterior.nodes[i].weight;
      best = posterior.nodes[i].weight > posterior.nodes[best].weight ? i : best;
    }
    CHECK(sum == Approx(1.0).epsilon(1e-12));
    for (std::size_t i = best % 37; i < posterior.nodes.size(); i += 37) {
      const double ratio = std::exp(log_weight(i) - log_weight(best));
      CHECK(posterior.nodes[i].weight / posterior.nodes[best].weight ==
            Approx(ratio).epsilon(1e-6).margin(1e-12));
    }
  }
}

TEST_CASE("CrossingOfANodeIsItsCurvesScaledByItsDiffusivity") {
  std::mt19937_64 random{202};
  const ForecastEvidence evidence = random_evidence(random, 4);
  const DiffusivityPrior prior{base::SquareMetresPerSecond{3e-10}, 0.45};
  const auto& library = library_in_air_of_50_percent();
  const SlabPosterior posterior =
      slab_posterior_from(library, evidence, prior, {}, RelativeHumidity{0.85});
  const double scaled = library.entries()[7].curve.crossing_of(RelativeHumidity{0.85})->value();
  CHECK(posterior.nodes[7 * 25 + 12].crossing->count() ==
        Approx(scaled * 0.12 * 0.12 / 3e-10).epsilon(1e-12));
  CHECK(posterior.nodes[7 * 25].crossing->count() ==
        Approx(scaled * 0.12 * 0.12 / 3e-10 * std::exp(3.0 * 0.45)).epsilon(1e-12));
}
