// The front end of a box with real sensors: a humidity part in the room air, another between the
// cartons, and a slab probe. What is not wired yet (the supply) reads as not fitted.
#pragma once

#include <array>
#include <cstddef>

#include "firmware-sim/target/sensors/front_end.hpp"
#include "firmware-sim/target/sensors/humidity_sensor.hpp"
#include "firmware-sim/target/sensors/slab_probe.hpp"

namespace firmware::target {

class WiredFrontEnd final : public FrontEnd {
 public:
  // All outlive the front end.
  WiredFrontEnd(HumiditySensor& air, HumiditySensor& core, SlabProbe& slab)
      : air_(air), core_(core), slab_(slab) {}
  void begin(std::uint64_t now_ms) override;
  bool poll(std::uint64_t now_ms, core::Sample& sample) override;

 private:
  struct Outcome {
    bool awaited = false;
    ClimateReading reading;
  };

  HumiditySensor& air_;
  HumiditySensor& core_;
  SlabProbe& slab_;
  bool begun_ = false;
  Outcome from_air_;
  Outcome from_core_;
  Outcome from_slab_;
};

}  // namespace firmware::target
