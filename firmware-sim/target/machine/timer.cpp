#include "firmware-sim/target/machine/timer.hpp"

#include "firmware-sim/target/machine/registers.hpp"

namespace firmware::target::machine {
namespace {

TransmitGate* served = nullptr;

}  // namespace

void LineTimer::start_us(std::uint32_t us) {
  register_at(kTimerControl) = 0;
  register_at(kTimerReload) = us * (kCoreHz / 1'000'000);
  register_at(kTimerValue) = us * (kCoreHz / 1'000'000);
  register_at(kTimerControl) = kTimerOn;
}

void LineTimer::serve(TransmitGate& gate) {
  served = &gate;
  register_at(kInterruptEnable) = 1U << kTimerInterruptNumber;
}

void LineTimer::on_interrupt() {
  register_at(kTimerControl) = 0;
  register_at(kTimerInterrupt) = 1;
  served->on_timer();
}

}  // namespace firmware::target::machine
