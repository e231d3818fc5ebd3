// What a simulated site is and what happens on it, as plain data. Every figure in a scenario is
// invented; none stands for a real room, floor or product. No behaviour here beyond look-up.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/time.hpp"
#include "firmware-sim/sim/box/sensor_set.hpp"
#include "firmware-sim/sim/site/site_truth.hpp"

namespace firmware::sim {

enum class ActionKind : std::uint8_t {
  heater_off,
  heater_on,
  delivery,      // the cartons arrive; the core probe goes from the room into their middle
  cable_unplug,  // of the line that box `box` is on; nullopt = every line
  cable_replug,
  box_reboot,     // a new boot over the same memory; ticks start at 0
  sensor_status,  // channel `channel` reports `status` until told otherwise
};

struct ScenarioAction {
  analysis::base::Micros after_start{0};
  ActionKind kind = ActionKind::heater_off;
  std::optional<std::size_t> box;  // index of the box; nullopt = all of them
  std::size_t channel = 0;         // sensor_status only
  std::uint8_t status = 0;         // sensor_status only: value of the register map
};

struct Scenario {
  std::string name;
  analysis::base::UtcMicros start;
  analysis::base::Micros length{0};
  std::uint64_t seed = 1;
  site::SiteParameters site;
  box::SensorParameters sensors;
  std::vector<ScenarioAction> actions;  // any order; equal times run in the order given
};

// Names of the embedded scenarios: "heater-failure", "quick".
[[nodiscard]] const std::vector<std::string>& scenario_names();
// nullopt when there is no scenario of that name.
[[nodiscard]] std::optional<Scenario> scenario_from_name(std::string_view name);

}  // namespace firmware::sim
