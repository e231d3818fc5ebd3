// The pins of the machine: the two wires of its I2C bus are real; its converter, switches and the
// driver enable of the line stand in the control block.
#pragma once

#include <cstdint>

#include "firmware-sim/target/sensors/byte_ports.hpp"

namespace firmware::target::machine {

class BoardWires final : public I2cWires {
 public:
  void set_clock(bool high) override;
  void set_data(bool high) override;
  [[nodiscard]] bool clock_is_high() const override;
  [[nodiscard]] bool data_is_high() const override;
  void wait_us(std::uint32_t us) override;
};

class LevelPin final : public InputPin {
 public:
  explicit LevelPin(std::uint32_t bit) : bit_(bit) {}
  [[nodiscard]] bool is_high() const override;

 private:
  std::uint32_t bit_;
};

class SupplyInput final : public AnalogInput {
 public:
  [[nodiscard]] std::uint16_t convert() override;
};

class DriverEnablePin final : public OutputPin {
 public:
  void set(bool high) override;
};

}  // namespace firmware::target::machine
