#include "analysis/readiness/slab/slab_posterior.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "analysis/physics/slab/concrete_diffusivity.hpp"

namespace analysis::readiness {
namespace {

using physics::CurvePlace;

constexpr std::size_t kDiffusivityNodes = 25;
constexpr double kDiffusivityDeviations = 3.0;  // the nodes reach so far either way

struct DiffusivityNode {
  double log_prior = 0.0;
  double scaled_per_second = 0.0;  // D1 / L^2
  std::vector<CurvePlace> places;  // of the observations
};

std::vector<DiffusivityNode> diffusivity_nodes(const ForecastEvidence& evidence,
                                               const DiffusivityPrior& prior) {
  const double length = evidence.drying_length.value();
  std::vector<DiffusivityNode> nodes(kDiffusivityNodes);
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    const double z =
        kDiffusivityDeviations * (2.0 * static_cast<double>(i) / (kDiffusivityNodes - 1.0) - 1.0);
    nodes[i].log_prior = -0.5 * z * z;
    nodes[i].scaled_per_second =
        prior.centre.value() * std::exp(prior.log_deviation * z) / (length * length);
    for (const DryingObservation& each : evidence.observations) {
      nodes[i].places.push_back(physics::curve_place_from(
          physics::ScaledTime{nodes[i].scaled_per_second * each.since_start.count()}));
    }
  }
  return nodes;
}

// The quadratic form r' C^-1 r for C = noise^2 I + common^2 1 1' + drift^2 d d', with d summing to
// zero, so that the two rank-one terms are orthogonal and each inverts by itself.
class ReadingMisfit {
 public:
  ReadingMisfit(const std::vector<DryingObservation>& observations, const ProbeUncertainty& probe)
      : observations_(observations), count_(static_cast<double>(observations.size())) {
    double mean_day = 0.0;
    for (const auto& each : observations) {
      mean_day += each.day / count_;
    }
    double spread = 0.0;
    for (const auto& each : observations) {
      days_from_middle_.push_back(each.day - mean_day);
      spread += days_from_middle_.back() * days_from_middle_.back();
    }
    noise_variance_ = probe.noise.value() * probe.noise.value();
    const double common_variance =
        probe.bias.value() * probe.bias.value() + probe.depth.value() * probe.depth.value();
    common_share_ = common_variance / (noise_variance_ + count_ * common_variance);
    constexpr double kDriftVariance = kDriftPerDay * kDriftPerDay;
    drift_share_ = kDriftVariance / (noise_variance_ + kDriftVariance * spread);
  }

  struct Value {
    double quadratic_form, mean_square;
  };
  [[nodiscard]] Value of(const physics::DryingCurve& curve,
                         const std::vector<CurvePlace>& places) const {
    double sum = 0.0;
    double moment = 0.0;
    double squares = 0.0;
    for (std::size_t i = 0; i < places.size(); ++i) {
      const double residual = observations_[i].rh.value() - curve.rh_at(places[i]).value();
      sum += residual;
      moment += residual * days_from_middle_[i];
      squares += residual * residual;
    }
    return {
        (squares - common_share_ * sum * sum - drift_share_ * moment * moment) / noise_variance_,
        squares / count_};
  }

 private:
  const std::vector<DryingObservation>& observations_;
  double count_;
  std::vector<double> days_from_middle_;
  double noise_variance_ = 0.0, common_share_ = 0.0, drift_share_ = 0.0;
};

void normalise_log_weights(std::vector<CrossingNode>& nodes) {
  double largest = -std::numeric_limits<double>::infinity();
  for (const CrossingNode& node : nodes) {
    largest = std::max(largest, node.weight);
  }
  double sum = 0.0;
  for (CrossingNode& node : nodes) {
    node.weight = std::exp(node.weight - largest);
    sum += node.weight;
  }
  for (CrossingNode& node : nodes) {
    node.weight /= sum;
  }
}

}  // namespace

DiffusivityPrior diffusivity_prior_from(std::optional<Megapascals> strength) {
  if (!strength) {
    return {base::SquareMetresPerSecond{3.5e-10}, 0.6};
  }
  return {physics::saturated_diffusivity_from_strength(*strength).value(), 0.45};
}

SlabPosterior slab_posterior_from(const DryingLibrary& library, const ForecastEvidence& evidence,
                                  const DiffusivityPrior& prior, const ProbeUncertainty& probe,
                                  RelativeHumidity limit) {
  const auto diffusivities = diffusivity_nodes(evidence, prior);
  const ReadingMisfit misfit{evidence.observations, probe};
  SlabPosterior posterior;
  posterior.nodes.reserve(library.entries().size() * diffusivities.size());
  double least_misfit = std::numeric_limits<double>::infinity();
  for (const DryingLibrary::Entry& entry : library.entries()) {
    const auto crossing = entry.curve.crossing_of(limit);
    for (const DiffusivityNode& diffusivity : diffusivities) {
      const auto value = misfit.of(entry.curve, diffusivity.places);
      if (value.quadratic_form < least_misfit) {
        least_misfit = value.quadratic_form;
        posterior.residual = RelativeHumidity{std::sqrt(value.mean_square)};
      }
      CrossingNode node;
      node.weight = std::log(entry.weight) + diffusivity.log_prior - 0.5 * value.quadratic_form;
      if (crossing) {
        node.crossing = DryingTime{crossing->value() / diffusivity.scaled_per_second};
      }
      posterior.nodes.push_back(node);
    }
  }
  normalise_log_weights(posterior.nodes);
  return posterior;
}

}  // namespace analysis::readiness
