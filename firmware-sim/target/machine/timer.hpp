// The one-shot timer of the machine, one for each program: it closes the gate of the line.
#pragma once

#include <cstdint>

#include "firmware-sim/target/sensors/byte_ports.hpp"
#include "firmware-sim/target/transmit_gate.hpp"

namespace firmware::target::machine {

class LineTimer final : public OneShotTimer {
 public:
  void start_us(std::uint32_t us) override;
  // From now on the end of a time closes `gate`, which lives for ever.
  static void serve(TransmitGate& gate);
  static void on_interrupt();
};

}  // namespace firmware::target::machine
