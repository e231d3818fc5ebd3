#include "firmware-sim/sim/site/solids/stack_truth.hpp"

namespace firmware::sim::site {
namespace {

constexpr double kQuarters = 4.0;

// Value in the middle of a profile that is even about it: a parabola through the last two cells,
// which lie half a cell and one and a half from it.
double at_middle(double last, double before_last) { return (9.0 * last - before_last) / 8.0; }

}  // namespace

using analysis::base::Celsius;

StackTruth::StackTruth(const StackParameters& parameters) : parameters_(parameters) {
  deliver(Celsius{parameters.delivery_celsius});
}

void StackTruth::deliver(Celsius t) {
  celsius_.assign(parameters_.width_cells,
                  std::vector<double>(parameters_.thickness_cells, t.value()));
}

double StackTruth::thickness_cell_m() const {
  return parameters_.half_thickness_m / static_cast<double>(parameters_.thickness_cells);
}

double StackTruth::width_cell_m() const {
  return parameters_.half_width_m / static_cast<double>(parameters_.width_cells);
}

StackTruth::Direction StackTruth::direction(double step_s, double cell_m, std::size_t cells,
                                            double conductivity_w_per_mk) const {
  return {std::vector<double>(cells - 1, step_s * conductivity_w_per_mk / cell_m),
          step_s / (0.5 * cell_m / conductivity_w_per_mk + 1.0 / parameters_.film_w_per_m2k)};
}

double StackTruth::advance(double step_s, Celsius air) {
  const double through_j = advance_through(step_s, air.value());
  return through_j + advance_across(step_s, air.value());
}

double StackTruth::advance_through(double step_s, double air) {
  const double cell_m = thickness_cell_m();
  const Direction way =
      direction(step_s, cell_m, parameters_.thickness_cells, parameters_.conductivity_w_per_mk);
  double sum_k = 0.0;
  for (std::vector<double>& column : celsius_) {
    chain_.advance(column, parameters_.heat_capacity_j_per_m3k * cell_m, way.link, {way.face, air});
    sum_k += air - column.front();
  }
  return kQuarters * way.face * sum_k * width_cell_m() * parameters_.length_m;
}

double StackTruth::advance_across(double step_s, double air) {
  const double cell_m = width_cell_m();
  const Direction way =
      direction(step_s, cell_m, parameters_.width_cells, parameters_.conductivity_along_w_per_mk);
  double sum_k = 0.0;
  std::vector<double> row(parameters_.width_cells);
  for (std::size_t depth = 0; depth < parameters_.thickness_cells; ++depth) {
    for (std::size_t i = 0; i < row.size(); ++i) {
      row[i] = celsius_[i][depth];
    }
    chain_.advance(row, parameters_.heat_capacity_j_per_m3k * cell_m, way.link, {way.face, air});
    for (std::size_t i = 0; i < row.size(); ++i) {
      celsius_[i][depth] = row[i];
    }
    sum_k += air - row.front();
  }
  return kQuarters * way.face * sum_k * thickness_cell_m() * parameters_.length_m;
}

Celsius StackTruth::core() const {
  const auto middle_of = [](const std::vector<double>& column) {
    return at_middle(column[column.size() - 1], column[column.size() - 2]);
  };
  return Celsius{at_middle(middle_of(celsius_[celsius_.size() - 1]),
                           middle_of(celsius_[celsius_.size() - 2]))};
}

double StackTruth::stored_heat_j() const {
  double sum = 0.0;
  for (const std::vector<double>& column : celsius_) {
    for (const double t : column) {
      sum += t;
    }
  }
  return kQuarters * sum * parameters_.heat_capacity_j_per_m3k * thickness_cell_m() *
         width_cell_m() * parameters_.length_m;
}

}  // namespace firmware::sim::site
