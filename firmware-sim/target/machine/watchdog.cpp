#include "firmware-sim/target/machine/watchdog.hpp"

#include "firmware-sim/target/machine/board.hpp"
#include "firmware-sim/target/machine/registers.hpp"

namespace firmware::target::machine {

void start_watchdog(std::uint32_t timeout_ms) {
  register_at(kWatchdogLoad) = timeout_ms * (kCoreHz / 1000);
  register_at(kWatchdogControl) = kWatchdogOn;
}

void feed_watchdog() { register_at(kWatchdogClear) = 1; }

void stop_watchdog() { register_at(kWatchdogControl) = 0; }

void on_watchdog() {
  control_block().watchdog_resets = control_block().watchdog_resets + 1;
  reset();
}

}  // namespace firmware::target::machine
