// The front end of a box with real sensors: a humidity part in the room air, another between the
// cartons, a slab probe, the supply, the lid contact and the tilt switch.
#pragma once

#include <array>
#include <cstddef>

#include "firmware-sim/target/sensors/contact.hpp"
#include "firmware-sim/target/sensors/front_end.hpp"
#include "firmware-sim/target/sensors/humidity_sensor.hpp"
#include "firmware-sim/target/sensors/slab_probe.hpp"
#include "firmware-sim/target/sensors/supply_monitor.hpp"

namespace firmware::target {

struct WiredParts {
  HumiditySensor& air;
  HumiditySensor& core;
  SlabProbe& slab;
  SupplyMonitor& supply;
  Contact& lid;   // active: open
  Contact& tilt;  // active: tilted
};

class WiredFrontEnd final : public FrontEnd {
 public:
  // All parts outlive the front end.
  explicit WiredFrontEnd(const WiredParts& parts) : parts_(parts) {}
  void watch(std::uint64_t now_ms) override;
  void begin(std::uint64_t now_ms) override;
  bool poll(std::uint64_t now_ms, core::Sample& sample) override;

 private:
  struct Outcome {
    bool awaited = false;
    ClimateReading reading;
  };

  [[nodiscard]] std::uint16_t take_flags();

  WiredParts parts_;
  bool begun_ = false;
  Outcome from_air_;
  Outcome from_core_;
  Outcome from_slab_;
};

}  // namespace firmware::target
