#include "analysis/physics/stack/stack_heat.hpp"

#include <cassert>
#include <chrono>
#include <cmath>
#include <numeric>

namespace analysis::physics {
namespace {

using base::Failure;
using base::Result;

// out[r] = sum over j of factors[r][j] * rows[j] for a dense matrix of kCount x kTerms factors,
// rows and out being rows of kRow doubles that lie kStride apart. One routine serves all three
// axes: along the rows the field is the matrix and the (symmetric) propagator the rows.
template <std::size_t kCount, std::size_t kTerms, std::size_t kRow, std::size_t kStride>
void combine_rows(const double* factors, const double* rows, double* out) {
  for (std::size_t r = 0; r < kCount; ++r) {
    std::array<double, kRow> sum{};
    for (std::size_t j = 0; j < kTerms; ++j) {
      const double factor = factors[r * kTerms + j];
      for (std::size_t i = 0; i < kRow; ++i) {
        sum[i] += factor * rows[j * kStride + i];
      }
    }
    for (std::size_t i = 0; i < kRow; ++i) {
      out[r * kStride + i] = sum[i];
    }
  }
}

}  // namespace

Result<StackField, DomainError> StackField::start(const StackGeometry& geometry,
                                                  const StackMaterial& material, Celsius delivery) {
  if (const auto checked = check_stack(geometry, material); !checked) {
    return Failure{checked.error()};
  }
  if (!(delivery >= kColdestStack && delivery <= kWarmestStack)) {
    return Failure{DomainError::temperature_out_of_domain};
  }
  return StackField{geometry, material, delivery};
}

StackField::StackField(const StackGeometry& geometry, const StackMaterial& material,
                       Celsius delivery)
    : length_(axis_from(Metres{0.5 * geometry.length.value() / kCellsLength},
                        material.conductivity_in_plane_w_per_m_k, material)),
      width_(axis_from(Metres{0.5 * geometry.width.value() / kCellsWidth},
                       material.conductivity_in_plane_w_per_m_k, material)),
      height_(axis_from(Metres{heated_depth_across(geometry).value() / kCellsHeight},
                        material.conductivity_across_w_per_m_k, material)),
      air_celsius_(delivery.value()),
      usual_(propagators_of(base::seconds_from(kLongestStackSubstep))) {}

StackField::Axis StackField::axis_from(Metres cell, double conductivity_w_per_m_k,
                                       const StackMaterial& material) {
  const double capacity =
      material.density_kg_per_m3 * material.heat_capacity_j_per_kg_k * cell.value();
  const double half_cell_and_film =
      0.5 * cell.value() / conductivity_w_per_m_k + 1.0 / material.film_w_per_m2_k;
  return {conductivity_w_per_m_k / cell.value() / capacity, 1.0 / half_cell_and_film / capacity};
}

// Column by column: the answer of TR-BDF2 to a unit excess in one cell. With gamma = 2 - sqrt 2
// both stages solve with the same tridiagonal matrix I - (gamma/2) dt A.
template <std::size_t kCells>
std::array<double, kCells * kCells> StackField::propagator_of(const Axis& axis, double substep_s) {
  const double gamma = 2.0 - std::sqrt(2.0);
  const double old_share = (1.0 - gamma) * (1.0 - gamma) / (gamma * (2.0 - gamma));
  const double off = 0.5 * gamma * substep_s * axis.between_cells_per_s;
  const double air = 0.5 * gamma * substep_s * axis.to_air_per_s;
  const auto loss = [&](std::size_t i) {
    return (i > 0 ? off : 0.0) + (i + 1 < kCells ? off : air);
  };
  std::array<double, kCells> pivot{};
  for (std::size_t i = 0; i < kCells; ++i) {
    pivot[i] = 1.0 + loss(i) - (i > 0 ? off * off / pivot[i - 1] : 0.0);
  }
  const auto solve = [&](std::array<double, kCells>& x) {
    for (std::size_t i = 1; i < kCells; ++i) {
      x[i] += off / pivot[i - 1] * x[i - 1];
    }
    x[kCells - 1] /= pivot[kCells - 1];
    for (std::size_t i = kCells - 1; i-- > 0;) {
      x[i] = (x[i] + off * x[i + 1]) / pivot[i];
    }
  };
  std::array<double, kCells * kCells> matrix{};
  for (std::size_t column = 0; column < kCells; ++column) {
    std::array<double, kCells> x{};
    x[column] = 1.0 - loss(column);
    if (column > 0) {
      x[column - 1] = off;
    }
    if (column + 1 < kCells) {
      x[column + 1] = off;
    }
    solve(x);
    for (double& value : x) {
      value *= 1.0 + old_share;  // 1 / (gamma (2 - gamma)) = 1 + old_share
    }
    x[column] -= old_share;
    solve(x);
    for (std::size_t i = 0; i < kCells; ++i) {
      matrix[i * kCells + column] = x[i];
    }
  }
  return matrix;
}

StackField::Propagators StackField::propagators_of(double substep_s) const {
  return {substep_s, propagator_of<kCellsLength>(length_, substep_s),
          propagator_of<kCellsWidth>(width_, substep_s),
          propagator_of<kCellsHeight>(height_, substep_s)};
}

const StackField::Propagators& StackField::propagators_for(double substep_s) {
  if (substep_s == usual_.substep_s) {
    return usual_;
  }
  if (substep_s != other_.substep_s) {
    other_ = propagators_of(substep_s);
  }
  return other_;
}

void StackField::substep(const Propagators& propagators, double air_change) {
  for (double& excess : excess_) {
    excess -= 0.5 * air_change;
  }
  std::array<double, kPlane * kCellsHeight> work;
  combine_rows<kCellsWidth * kCellsHeight, kCellsLength, kCellsLength, kCellsLength>(
      excess_.data(), propagators.length.data(), work.data());
  for (std::size_t plane = 0; plane < excess_.size(); plane += kPlane) {
    combine_rows<kCellsWidth, kCellsWidth, kCellsLength, kCellsLength>(
        propagators.width.data(), &work[plane], &excess_[plane]);
  }
  for (std::size_t row = 0; row < kPlane; row += kCellsLength) {
    combine_rows<kCellsHeight, kCellsHeight, kCellsLength, kPlane>(propagators.height.data(),
                                                                   &excess_[row], &work[row]);
  }
  for (std::size_t i = 0; i < excess_.size(); ++i) {
    excess_[i] = work[i] - 0.5 * air_change;
  }
}

void StackField::step(Micros duration, Celsius air_from, Celsius air_to) {
  assert(duration > Micros{0});
  assert(std::isfinite(air_from.value()) && std::isfinite(air_to.value()));
  const double jump = air_from.value() - air_celsius_;
  if (jump != 0.0) {
    for (double& excess : excess_) {
      excess -= jump;
    }
  }
  const auto parts = (duration + kLongestStackSubstep - Micros{1}) / kLongestStackSubstep;
  const double share = 1.0 / static_cast<double>(parts);
  const Propagators& propagators = propagators_for(base::seconds_from(duration) * share);
  for (std::int64_t part = 0; part < parts; ++part) {
    substep(propagators, (air_to.value() - air_from.value()) * share);
  }
  air_celsius_ = air_to.value();
}

Celsius StackField::coldest_when_warming() const {
  // a + b x^2 through the cell centres at 1/2 and 3/2 of a cell, taken at the plane of symmetry.
  constexpr std::array<double, 2> kWeights{9.0 / 8.0, -1.0 / 8.0};
  double sum = 0.0;
  for (std::size_t z = 0; z < 2; ++z) {
    for (std::size_t y = 0; y < 2; ++y) {
      for (std::size_t x = 0; x < 2; ++x) {
        sum += kWeights[x] * kWeights[y] * kWeights[z] * excess_[z * kPlane + y * kCellsLength + x];
      }
    }
  }
  return Celsius{air_celsius_ + sum};
}

Celsius StackField::mean() const {
  const double sum = std::accumulate(excess_.begin(), excess_.end(), 0.0);
  return Celsius{air_celsius_ + sum / static_cast<double>(excess_.size())};
}

}  // namespace analysis::physics
