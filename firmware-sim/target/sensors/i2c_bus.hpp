// I2C by hand on two wires, this end as the only controller, at most 100 kHz. A target may hold the
// clock down for kStretchUs; a longer hold, or a data wire that nobody lets go of, fails the
// transfer. Source: NXP UM10204, I2C-bus specification, sections 3.1.1 to 3.1.10 and 3.1.16.
#pragma once

#include <cstdint>
#include <span>

#include "firmware-sim/target/sensors/byte_ports.hpp"

namespace firmware::target {

class I2cBus final : public I2cPort {
 public:
  static constexpr std::uint32_t kHalfBitUs = 5;
  // In all of one transfer, so that the box goes on answering its master.
  static constexpr std::uint32_t kStretchUs = 2000;

  // `wires` outlive the bus.
  explicit I2cBus(I2cWires& wires) : wires_(wires) {}
  bool write(std::uint8_t address, std::span<const std::uint8_t> bytes) override;
  bool read(std::uint8_t address, std::span<std::uint8_t> into) override;

 private:
  void begin();
  void end();
  void free_data();
  void set_data(bool high);
  void set_clock(bool high);
  bool exchange_bit(bool high);
  bool send_byte(std::uint8_t byte);
  std::uint8_t receive_byte(bool more);

  I2cWires& wires_;
  std::uint32_t stretch_left_us_ = 0;
  bool hangs_ = false;  // in the running transfer
};

}  // namespace firmware::target
