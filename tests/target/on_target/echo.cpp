// Sends back every byte: what the line of the emulated machine can carry at best.
#include <array>
#include <cstdint>
#include <span>

#include "firmware-sim/target/control_block.hpp"
#include "firmware-sim/target/machine/board.hpp"
#include "firmware-sim/target/machine/uart.hpp"

namespace machine = firmware::target::machine;

int main() {
  static machine::Uart line(0, 115200);
  machine::start_ticks();
  auto& control = machine::control_block();
  control.machine_starts = control.machine_starts + 1;
  control.state = static_cast<std::uint32_t>(firmware::target::BoxState::running);
  for (;;) {
    std::array<std::uint8_t, machine::Uart::kRingBytes> bytes{};
    const std::size_t count = line.receive(bytes);
    while (!line.send(std::span(bytes).first(count))) {
      machine::sleep();
    }
    if (count == 0) {
      machine::sleep();
    }
  }
}
