// Start-up: vector table, memory, constructors, main. Nothing here returns.
#include <array>
#include <cstddef>
#include <cstdint>

#include "firmware-sim/target/machine/board.hpp"
#include "firmware-sim/target/machine/registers.hpp"
#include "firmware-sim/target/machine/timer.hpp"
#include "firmware-sim/target/machine/uart.hpp"
#include "firmware-sim/target/machine/watchdog.hpp"

extern "C" {
extern std::uint32_t data_image[];
extern std::uint32_t data_begin[];
extern std::uint32_t data_end[];
extern std::uint32_t bss_begin[];
extern std::uint32_t bss_end[];
extern std::uint32_t stack_top[];
using Constructor = void (*)();
extern Constructor init_array_begin[];
extern Constructor init_array_end[];

int main();
[[noreturn]] void reset_handler();
// A pure virtual call or a delete of an abstract object can't happen; the linker wants them.
// NOLINTNEXTLINE(bugprone-reserved-identifier)
[[noreturn]] void __cxa_pure_virtual() { firmware::target::machine::reset(); }
// main never returns, so nothing is ever destroyed.
int atexit(void (* /*destroy*/)()) { return 0; }
}

void operator delete(void* /*object*/) noexcept { firmware::target::machine::reset(); }
void operator delete(void* object, std::size_t /*size*/) noexcept { operator delete(object); }

namespace {

using firmware::target::machine::kStackPaint;

// The compiler must not turn these loops into calls that use the stack being painted.
[[gnu::noinline]] void paint_stack() {
  auto* const here = static_cast<volatile std::uint32_t*>(__builtin_frame_address(0));
  for (volatile std::uint32_t* word = bss_end; word < here - 8; ++word) {
    *word = kStackPaint;
  }
}

// A box that has met a fault starts anew: the ring is made to be left at any moment.
void fault_handler() { firmware::target::machine::reset(); }

using Handler = void (*)();

struct VectorTable {
  std::uint32_t* initial_stack;
  Handler reset;
  std::array<Handler, 13> exceptions;  // 2..14
  Handler tick;
  std::array<Handler, 32> interrupts;
};

using firmware::target::machine::Uart;

[[gnu::section(".vectors"), gnu::used]] constinit const VectorTable vectors = [] {
  VectorTable table{stack_top, reset_handler, {}, firmware::target::machine::on_tick, {}};
  table.exceptions.fill(fault_handler);
  table.exceptions[0] = firmware::target::machine::on_watchdog;  // NMI
  table.interrupts.fill(fault_handler);
  table.interrupts[0] = table.interrupts[1] = [] { Uart::on_interrupt(0); };
  table.interrupts[2] = table.interrupts[3] = [] { Uart::on_interrupt(1); };
  table.interrupts[firmware::target::machine::kTimerInterruptNumber] =
      firmware::target::machine::LineTimer::on_interrupt;
  return table;
}();

}  // namespace

void reset_handler() {
  const std::uint32_t* image = data_image;
  for (std::uint32_t* word = data_begin; word < data_end; ++word, ++image) {
    *word = *image;
  }
  for (std::uint32_t* word = bss_begin; word < bss_end; ++word) {
    *word = 0;
  }
  paint_stack();
  for (const Constructor* constructor = init_array_begin; constructor < init_array_end;
       ++constructor) {
    (*constructor)();
  }
  static_cast<void>(main());
  firmware::target::machine::reset();
}
