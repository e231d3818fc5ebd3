// I2C by hand on two wires, this end as the only controller, at most 100 kHz. Source: NXP UM10204,
// I2C-bus specification, section 3.1. No clock stretching: the wires of this machine can't show it.
#pragma once

#include <cstdint>
#include <span>

#include "firmware-sim/target/sensors/byte_ports.hpp"

namespace firmware::target::machine {

class I2cBus final : public I2cPort {
 public:
  bool write(std::uint8_t address, std::span<const std::uint8_t> bytes) override;
  bool read(std::uint8_t address, std::span<std::uint8_t> into) override;
};

}  // namespace firmware::target::machine
