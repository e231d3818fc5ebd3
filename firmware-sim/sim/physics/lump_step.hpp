// One implicit step of a few lumps coupled to each other and to fixed values. No state.
#pragma once

#include <array>
#include <cstddef>

namespace firmware::sim::physics {

// C (x' - x) / step = sum of conductance * (neighbour' - x') + sources, for N lumps. Conductances
// in W/K, capacities in J/K and sources in W, or any other set of units that fits.
template <std::size_t N>
class LumpStep {
 public:
  using Values = std::array<double, N>;

  LumpStep(const Values& x, const Values& capacity, double step_s) {
    for (std::size_t i = 0; i < N; ++i) {
      matrix_[i][i] = capacity[i] / step_s;
      right_[i] = matrix_[i][i] * x[i];
    }
  }
  void couple(std::size_t i, std::size_t j, double conductance) {
    matrix_[i][i] += conductance;
    matrix_[j][j] += conductance;
    matrix_[i][j] -= conductance;
    matrix_[j][i] -= conductance;
  }
  void couple_to(std::size_t i, double fixed, double conductance) {
    matrix_[i][i] += conductance;
    right_[i] += conductance * fixed;
  }
  void add(std::size_t i, double source) { right_[i] += source; }

  // Gauss without pivoting: the matrix of a balance is diagonally dominant.
  [[nodiscard]] Values solved() const {
    auto a = matrix_;
    Values b = right_;
    for (std::size_t pivot = 0; pivot < N; ++pivot) {
      for (std::size_t row = pivot + 1; row < N; ++row) {
        const double factor = a[row][pivot] / a[pivot][pivot];
        for (std::size_t column = pivot; column < N; ++column) {
          a[row][column] -= factor * a[pivot][column];
        }
        b[row] -= factor * b[pivot];
      }
    }
    for (std::size_t row = N; row-- > 0;) {
      for (std::size_t column = row + 1; column < N; ++column) {
        b[row] -= a[row][column] * b[column];
      }
      b[row] /= a[row][row];
    }
    return b;
  }

 private:
  std::array<std::array<double, N>, N> matrix_{};
  Values right_{};
};

}  // namespace firmware::sim::physics
