// A front end without sensors: its counts stand in the control block of the emulated machine.
#pragma once

#include "firmware-sim/target/control_block.hpp"
#include "firmware-sim/target/sensors/front_end.hpp"

namespace firmware::target {

class ScriptedFrontEnd final : public FrontEnd {
 public:
  // `control` outlives the front end.
  explicit ScriptedFrontEnd(const volatile ControlBlock& control) : control_(control) {}
  void watch(std::uint64_t /*now_ms*/) override {}
  void begin(std::uint64_t now_ms) override;
  bool poll(std::uint64_t now_ms, core::Sample& sample) override;

 private:
  const volatile ControlBlock& control_;
  bool begun_ = false;
};

}  // namespace firmware::target
