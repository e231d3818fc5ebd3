// probe-box-sim: a simulated site with probe boxes on pseudo-terminals. See --help.
#include <unistd.h>

#include <csignal>
#include <cstdio>
#include <iostream>
#include <string>
#include <vector>

#include "firmware-sim/sim/command_line.hpp"
#include "firmware-sim/sim/simulation_run.hpp"

namespace {

using analysis::base::hours_from;
using firmware::sim::SimulationRun;
using firmware::sim::StepOutcome;

SimulationRun* running = nullptr;  // for the signal handler only

extern "C" void stop_running(int /*signal*/) { running->request_stop(); }

// One line that is written over on a terminal, else one line for each simulated day.
class Progress {
 public:
  explicit Progress(bool wanted) : wanted_(wanted), terminal_(::isatty(STDOUT_FILENO) == 1) {}

  void show(SimulationRun& run) {
    const auto hour = static_cast<long>(hours_from(run.utc_now() - run.utc_start()));
    if (!wanted_ || hour == shown_hour_ || (!terminal_ && hour / 24 == shown_hour_ / 24)) {
      return;
    }
    shown_hour_ = hour;
    const auto state = run.site_state();
    std::printf("%sday %ld %02ld h  room %5.1f degC %4.1f %%RH  core %5.1f degC  slab %4.1f %%RH%s",
                terminal_ ? "\r" : "", hour / 24 + 1, hour % 24, state.air_temperature.value(),
                percent_from_rh(state.air_rh), state.core_temperature.value(),
                percent_from_rh(state.slab_rh), terminal_ ? "" : "\n");
    std::fflush(stdout);
  }
  void finish() const {
    if (wanted_ && terminal_ && shown_hour_ > kNothingShown) {
      std::printf("\n");
    }
  }

 private:
  static constexpr long kNothingShown = -24;

  bool wanted_;
  bool terminal_;
  long shown_hour_ = kNothingShown;
};

// Says who holds time when nothing has moved for long: a client that hangs looks like a hang here.
void tell_holder(const SimulationRun& run, int waits) {
  constexpr int kWaitsBeforeTelling = 20;
  if (waits == kWaitsBeforeTelling && !run.holder().empty()) {
    std::cerr << "probe-box-sim: simulated time stands still: " << run.holder() << '\n';
  }
}

int simulate(SimulationRun& run, bool progress_wanted) {
  Progress progress(progress_wanted);
  int waits = 0;
  StepOutcome outcome = StepOutcome::worked;
  while (outcome != StepOutcome::ended) {
    progress.show(run);
    outcome = run.step(std::chrono::milliseconds{500});
    waits = outcome == StepOutcome::waiting ? waits + 1 : 0;
    tell_holder(run, waits);
  }
  progress.finish();
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  const auto options = firmware::sim::options_from_arguments({argv + 1, argv + argc});
  if (!options) {
    std::cerr << "probe-box-sim: " << options.error() << '\n';
    return 1;
  }
  if (options.value().help) {
    std::cout << firmware::sim::help_text();
    return 0;
  }
  if (options.value().list) {
    std::cout << firmware::sim::list_text();
    return 0;
  }
  if (!options.value().show.empty()) {
    std::cout << options.value().show;
    return 0;
  }
  if (const auto left_out = options.value().run.scenario.harness.size(); left_out > 0) {
    std::cerr << "probe-box-sim: " << left_out
              << " statements of the scenario are for a test harness and left out\n";
  }
  const auto run = SimulationRun::create(options.value().run);
  if (!run) {
    std::cerr << "probe-box-sim: " << run.error() << '\n';
    return 4;
  }
  running = run.value().get();
  std::signal(SIGINT, &stop_running);
  std::signal(SIGTERM, &stop_running);
  return simulate(*run.value(), options.value().progress);
}
