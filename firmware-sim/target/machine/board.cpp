#include "firmware-sim/target/machine/board.hpp"

#include "firmware-sim/target/machine/registers.hpp"
#include "firmware-sim/target/machine/watchdog.hpp"

namespace firmware::target::machine {
namespace {

volatile std::uint64_t tick_count = 0;

template <class Content>
volatile Content* content_at(std::uint32_t offset) {
  // NOLINTNEXTLINE(performance-no-int-to-ptr)
  return reinterpret_cast<volatile Content*>(kNonVolatile + offset);
}

}  // namespace

void start_ticks() {
  register_at(kSysTickReload) = kCoreHz / 1000 - 1;
  register_at(kSysTickValue) = 0;
  register_at(kSysTickControl) = kSysTickOn;
}

void on_tick() { tick_count = tick_count + 1; }

// Two reads that agree: the interrupt may come between the halves of one.
std::uint64_t ticks_ms() {
  std::uint64_t first = tick_count;
  std::uint64_t second = tick_count;
  while (first != second) {
    first = second;
    second = tick_count;
  }
  return second;
}

void wait_us(std::uint32_t us) {
  constexpr std::uint32_t kPeriod = kCoreHz / 1000;
  const std::uint32_t begin = register_at(kSysTickValue);  // counts down
  const std::uint32_t cycles = us * (kCoreHz / 1'000'000);
  while ((begin + kPeriod - register_at(kSysTickValue)) % kPeriod < cycles) {
  }
}

void sleep() { asm volatile("wfi" ::: "memory"); }

void reset() {
  asm volatile("dsb" ::: "memory");
  register_at(kResetControl) = kResetRequest;
  for (;;) {
    asm volatile("dsb" ::: "memory");
  }
}

volatile ControlBlock& control_block() { return *content_at<ControlBlock>(kControlAt); }

FlashModel::Part flash_part(std::uint32_t blocks) {
  return {{content_at<std::uint8_t>(kFlashAt), std::size_t{blocks} * kFlashBlockBytes},
          {content_at<std::uint32_t>(kWearAt), blocks},
          control_block().faults};
}

volatile std::uint32_t& made_blocks() { return *content_at<std::uint32_t>(kPartAt); }

void StopAtPowerLoss::power_lost() {
  stop_watchdog();  // it has no power either
  control_block().state = static_cast<std::uint32_t>(BoxState::power_lost);
  asm volatile("cpsid i" ::: "memory");
  for (;;) {
    sleep();
  }
}

}  // namespace firmware::target::machine
