// The watchdog of the machine: a loop that no longer feeds it is restarted.
#pragma once

#include <cstdint>

namespace firmware::target::machine {

// The first time-out counts itself in the control block and resets; should that fail, the second
// one resets by itself. REQUIRES: 1 <= timeout_ms <= 100,000.
void start_watchdog(std::uint32_t timeout_ms);
void feed_watchdog();
void stop_watchdog();
[[noreturn]] void on_watchdog();

}  // namespace firmware::target::machine
