// Cost of one step of the heat in a stack of cartons, in microseconds and against one pass that
// copies and scales 768 doubles, and of 14 days at 15 minutes.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <vector>

#include "analysis/physics/stack/stack_heat.hpp"
#include "tests/benchmarks/bench_folder.hpp"

namespace {

using namespace analysis::physics;
using benchmarks::Stopwatch;

constexpr int kRounds = 9;
constexpr int kSteps = 14 * 96;
constexpr int kPasses = 200'000;
constexpr double kTargetMicroseconds = 15.0;

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

// Daily swing, so that every step changes the air. `duration` of step i.
template <class Duration>
double seconds_of_steps(StackBottom bottom, double& checksum, Duration duration) {
  const StackGeometry geometry{Metres{1.29}, Metres{0.39}, Metres{0.54}, bottom};
  StackField field = StackField::start(geometry, kMidStack, Celsius{2.0}).value();
  const Stopwatch watch;
  for (int i = 0; i < kSteps; ++i) {
    const auto air = [](int at) { return Celsius{17.0 + 4.0 * std::sin(at / 15.0)}; };
    field.step(duration(i), air(i), air(i + 1));
  }
  const double seconds = watch.seconds();
  checksum += field.coldest_when_warming().value();
  return seconds;
}

double seconds_of_passes(double& checksum) {
  std::array<double, 768> from{};
  std::array<double, 768> to{};
  from.fill(1.0);
  const Stopwatch watch;
  for (int pass = 0; pass < kPasses; ++pass) {
    const double scale = 1.0 + 1e-9 * pass;
    for (std::size_t i = 0; i < from.size(); ++i) {
      to[i] = scale * from[i];
    }
    from[static_cast<std::size_t>(pass) % from.size()] = to[700];  // the next pass depends on this
  }
  const double seconds = watch.seconds();
  checksum += to[767];
  return seconds;
}

}  // namespace

int main() {
  double checksum = 0.0;
  std::vector<double> battens, floor, irregular, passes;
  for (int round = 0; round < kRounds; ++round) {
    const auto quarter = [](int) { return Micros{900'000'000}; };
    const auto changing = [](int i) { return Micros{600'000'000 + 1'000'000 * (i % 200)}; };
    battens.push_back(seconds_of_steps(StackBottom::on_battens, checksum, quarter));
    floor.push_back(seconds_of_steps(StackBottom::on_floor, checksum, quarter));
    irregular.push_back(seconds_of_steps(StackBottom::on_floor, checksum, changing));
    passes.push_back(seconds_of_passes(checksum));
  }
  const double pass_us = median(passes) / kPasses * 1e6;
  const auto report = [&](const char* what, const std::vector<double>& seconds) {
    const double step_us = median(seconds) / kSteps * 1e6;
    std::printf("%s: %.2f us a step = %.0f copy-and-scale passes; 14 d at 15 min %.1f ms\n", what,
                step_us, step_us / pass_us, median(seconds) * 1e3);
    return step_us;
  };
  std::printf("one pass over 768 doubles: %.3f us (checksum %.3f)\n", pass_us, checksum);
  const double slowest = std::max(report("on battens", battens), report("on the floor", floor));
  report("on the floor, every step of another length", irregular);
  return slowest <= kTargetMicroseconds ? 0 : 2;
}
