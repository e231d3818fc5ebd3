#include "firmware-sim/target/sensors/scripted_front_end.hpp"

namespace firmware::target {

void ScriptedFrontEnd::begin(std::uint64_t /*now_ms*/) { begun_ = true; }

bool ScriptedFrontEnd::poll(std::uint64_t /*now_ms*/, core::Sample& sample) {
  if (!begun_) {
    return false;
  }
  begun_ = false;
  for (std::size_t channel = 0; channel < core::kChannels; ++channel) {
    sample.raw_counts[channel] = control_.raw_counts[channel];
    sample.statuses[channel] = control_.statuses[channel];
  }
  sample.flags = static_cast<std::uint16_t>(control_.flags);
  return true;
}

}  // namespace firmware::target
