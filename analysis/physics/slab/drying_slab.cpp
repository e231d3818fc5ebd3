#include "analysis/physics/slab/drying_slab.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/physics/slab/cubic_through_four.hpp"

namespace analysis::physics {
namespace {

using base::Failure;
using base::Result;

constexpr double kNewtonTolerance = 1e-9;  // RH
constexpr int kMostNewtonSteps = 40;

}  // namespace

Result<DryingSlab, DomainError> DryingSlab::at_start(RelativeHumidity initial, RelativeHumidity air,
                                                     SlabLayers layers) {
  if (!(air.value() >= 0.0 && air < initial && initial.value() <= 1.0)) {
    return Failure{DomainError::rh_out_of_domain};
  }
  if (!(layers.count >= 4 && layers.ratio >= 1.0 && layers.ratio <= 2.0)) {
    return Failure{DomainError::length_out_of_domain};
  }
  DryingSlab slab;
  slab.air_rh_ = air.value();
  slab.rh_.assign(layers.count, initial.value());
  double total = 0.0;
  double width = 1.0;
  for (std::size_t i = 0; i < layers.count; ++i, width *= layers.ratio) {
    slab.width_.push_back(width);
    total += width;
  }
  double depth = 0.0;
  double last_centre = 0.0;
  for (double& share : slab.width_) {
    share /= total;
    slab.centre_.push_back(depth + 0.5 * share);
    slab.distance_.push_back(slab.centre_.back() - last_centre);
    last_centre = slab.centre_.back();
    depth += share;
  }
  for (auto* room : {&slab.stage_, &slab.known_, &slab.potential_, &slab.diffusivity_, &slab.upper_,
                     &slab.change_}) {
    room->resize(layers.count);
  }
  return slab;
}

// One Newton step on rh - known - implicit_step * divergence(rh) = 0 by a sweep down and up the
// tridiagonal system; gives the largest change.
double DryingSlab::newton_step(const DiffusivityTable& table, const std::vector<double>& known,
                               double implicit_step, std::vector<double>& rh) {
  const std::size_t count = rh.size();
  for (std::size_t i = 0; i < count; ++i) {
    potential_[i] = table.potential(RelativeHumidity{rh[i]});
    diffusivity_[i] = table.relative_diffusivity(RelativeHumidity{rh[i]});
  }
  double outer_flux = (potential_[0] - table.potential(RelativeHumidity{air_rh_})) / distance_[0];
  for (std::size_t i = 0; i < count; ++i) {
    const bool last = i + 1 == count;
    const double inner_flux = last ? 0.0 : (potential_[i + 1] - potential_[i]) / distance_[i + 1];
    const double scale = implicit_step / width_[i];
    const double to_outer = scale / distance_[i];
    const double to_inner = last ? 0.0 : scale / distance_[i + 1];
    const double residual = rh[i] - known[i] - scale * (inner_flux - outer_flux);
    const double lower = i == 0 ? 0.0 : -to_outer * diffusivity_[i - 1];
    const double eliminated_upper = i == 0 ? 0.0 : upper_[i - 1];
    const double eliminated_change = i == 0 ? 0.0 : change_[i - 1];
    const double pivot =
        1.0 / (1.0 + (to_outer + to_inner) * diffusivity_[i] - lower * eliminated_upper);
    upper_[i] = last ? 0.0 : -to_inner * diffusivity_[i + 1] * pivot;
    change_[i] = (-residual - lower * eliminated_change) * pivot;
    outer_flux = inner_flux;
  }
  double largest = 0.0;
  for (std::size_t i = count; i-- > 0;) {
    if (i + 1 < count) {
      change_[i] -= upper_[i] * change_[i + 1];
    }
    rh[i] += change_[i];
    largest = std::max(largest, std::abs(change_[i]));
  }
  return largest;
}

bool DryingSlab::solve_stage(const DiffusivityTable& table, const std::vector<double>& known,
                             double implicit_step, std::vector<double>& rh) {
  for (int step = 0; step < kMostNewtonSteps; ++step) {
    if (newton_step(table, known, implicit_step, rh) < kNewtonTolerance) {
      return true;
    }
  }
  return false;
}

Result<void, DomainError> DryingSlab::advance(const DiffusivityTable& table, ScaledTime step) {
  const double gamma = 1.0 - 1.0 / std::sqrt(2.0);
  if (!(step.value() > 0.0 && std::isfinite(step.value()))) {
    return Failure{DomainError::duration_out_of_domain};
  }
  stage_ = rh_;
  if (!solve_stage(table, rh_, gamma * step.value(), stage_)) {
    return Failure{DomainError::no_convergence};
  }
  for (std::size_t i = 0; i < rh_.size(); ++i) {
    known_[i] = rh_[i] + (1.0 - gamma) / gamma * (stage_[i] - rh_[i]);
  }
  if (!solve_stage(table, known_, gamma * step.value(), stage_)) {
    return Failure{DomainError::no_convergence};
  }
  std::swap(rh_, stage_);
  return {};
}

Result<RelativeHumidity, DomainError> DryingSlab::rh_at_depth(double depth_share) const {
  if (!(depth_share >= 0.0 && depth_share <= 1.0)) {
    return Failure{DomainError::length_out_of_domain};
  }
  // Points: 0 is the surface, 1..count the layers, then their mirror images.
  const std::size_t count = rh_.size();
  const auto depth_of = [&](std::size_t point) {
    return point == 0       ? 0.0
           : point <= count ? centre_[point - 1]
                            : 2.0 - centre_[2 * count - point];
  };
  const auto rh_of = [&](std::size_t point) {
    return point == 0 ? air_rh_ : rh_[point <= count ? point - 1 : 2 * count - point];
  };
  const auto above = std::upper_bound(centre_.begin(), centre_.end(), depth_share);
  const auto before = static_cast<std::size_t>(above - centre_.begin());
  const std::size_t first = before == 0 ? 0 : before - 1;
  const auto weights = cubic_weights(
      {depth_of(first), depth_of(first + 1), depth_of(first + 2), depth_of(first + 3)},
      depth_share);
  double rh = 0.0;
  for (std::size_t k = 0; k < weights.size(); ++k) {
    rh += weights[k] * rh_of(first + k);
  }
  return RelativeHumidity{rh};
}

RelativeHumidity DryingSlab::mean_rh() const {
  double mean = 0.0;
  for (std::size_t i = 0; i < rh_.size(); ++i) {
    mean += width_[i] * rh_[i];
  }
  return RelativeHumidity{mean};
}

}  // namespace analysis::physics
