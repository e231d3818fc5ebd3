// The driver enable of an RS-485 transceiver: on before the first start bit of a reply, off once
// the last stop bit is through, so that the master's next request finds the line free.
// Freestanding. open() is called by the loop, the others by interrupts.
#pragma once

#include <atomic>
#include <cstdint>

#include "firmware-sim/target/sensors/byte_ports.hpp"

namespace firmware::target {

class TransmitGate {
 public:
  static constexpr std::uint32_t kBitsInCharacter = 11;  // the longest a line may be set to

  // Both outlive the gate. The driver is off from now on. REQUIRES: baud above 0.
  TransmitGate(OutputPin& driver, OneShotTimer& timer, std::uint32_t baud);

  // Before the first byte is given to the transmitter.
  void open();
  // The last byte has left the holding register, so its character begins now at the latest.
  void last_byte_begun();
  // The time started by last_byte_begun() is over.
  void on_timer();

 private:
  enum class State : std::uint8_t { closed, open, closing };

  OutputPin& driver_;
  OneShotTimer& timer_;
  std::uint32_t character_us_;  // rounded up
  std::atomic<State> state_{State::closed};
};

}  // namespace firmware::target
