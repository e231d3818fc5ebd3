#include "firmware-sim/target/machine/pins.hpp"

#include "firmware-sim/target/machine/board.hpp"
#include "firmware-sim/target/machine/registers.hpp"

namespace firmware::target::machine {

void BoardWires::set_clock(bool high) { register_at(high ? kI2cRelease : kI2cPull) = kI2cClock; }

void BoardWires::set_data(bool high) { register_at(high ? kI2cRelease : kI2cPull) = kI2cData; }

bool BoardWires::clock_is_high() const { return (register_at(kI2cRelease) & kI2cClock) != 0; }

bool BoardWires::data_is_high() const { return (register_at(kI2cRelease) & kI2cData) != 0; }

void BoardWires::wait_us(std::uint32_t us) { machine::wait_us(us); }

bool LevelPin::is_high() const { return (control_block().levels & bit_) != 0; }

std::uint16_t SupplyInput::convert() {
  const std::uint32_t counts = control_block().supply_counts;
  return static_cast<std::uint16_t>(counts != 0 ? counts : kDefaultSupplyCounts);
}

void DriverEnablePin::set(bool high) {
  volatile ControlBlock& control = control_block();
  if (control.driver_enabled != 0 && !high) {
    control.driver_releases = control.driver_releases + 1;
  }
  control.driver_enabled = high ? 1 : 0;
}

}  // namespace firmware::target::machine
