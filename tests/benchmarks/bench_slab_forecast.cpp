// Times one whole forecast, library included, beside 330 plain solves of the same run, and a
// forecast from a library already solved.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <vector>

#include "tests/slab/slab_history.hpp"

namespace {

using namespace slab_history;

constexpr int kRounds = 7;

template <class Work>
double median_seconds(Work work) {
  std::vector<double> seconds;
  for (int round = 0; round < kRounds; ++round) {
    const auto start = std::chrono::steady_clock::now();
    work();
    seconds.push_back(
        std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
  }
  std::nth_element(seconds.begin(), seconds.begin() + kRounds / 2, seconds.end());
  return seconds[kRounds / 2];
}

}  // namespace

int main() {
  const SlabHistory history = history_of({}, 40.0, 55.0);
  const SlabHistory long_history = history_of({}, 20.0, 220.0);
  const ForecastQuestion question{RelativeHumidity{0.85}, at_day(55.0)};
  const ForecastQuestion long_question{RelativeHumidity{0.75}, at_day(220.0)};
  const RelativeHumidity air{0.50};
  double sum = 0.0;  // so that nothing is optimised away

  const double solves = median_seconds([&] {
    const auto table = physics::DiffusivityTable::from_shape({}).value();
    for (int i = 0; i < 330; ++i) {
      const auto curve = physics::DryingCurve::solve(table, RelativeHumidity{0.97}, air).value();
      sum += curve.crossing_of(question.limit)->value();
    }
  });
  const double whole = median_seconds([&] {
    const auto library = DryingLibrary::solve(air).value();
    sum += day_of(slab_forecast_from(history, library, question).value().median);
  });
  const auto library = DryingLibrary::solve(air).value();
  const double again = median_seconds(
      [&] { sum += day_of(slab_forecast_from(history, library, question).value().median); });
  const double long_again = median_seconds([&] {
    sum += day_of(slab_forecast_from(long_history, library, long_question).value().median);
  });
  std::printf("330 plain solves: %.3f s (%.3f ms each)\n", solves, 1e3 * solves / 330.0);
  std::printf(
      "forecast of 15 days of readings, library and all: %.3f s, %.2f of the plain solves\n", whole,
      whole / solves);
  std::printf("the same from a solved library: %.1f ms, %.3f of the plain solves\n", 1e3 * again,
              again / solves);
  std::printf("200 days of readings from a solved library: %.1f ms, %.3f of the plain solves\n",
              1e3 * long_again, long_again / solves);
  std::printf(
      "library: %zu curves, %.2f MiB\n", library.entries().size(),
      static_cast<double>(library.entries().size() * sizeof(DryingLibrary::Entry)) / 1048576.0);
  return sum > 0.0 ? 0 : 1;
}
