// What a simulated site is and what happens on it, as plain data; docs/scenarios.md is the language
// it is written in. Every figure in a scenario is invented; none stands for a real room, floor or
// product. No behaviour here beyond look-up.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "firmware-sim/sim/box/sensor_set.hpp"
#include "firmware-sim/sim/box/simulated_box.hpp"
#include "firmware-sim/sim/box/transmitter.hpp"
#include "firmware-sim/sim/line/exchange_faults.hpp"
#include "firmware-sim/sim/site/site_parameters.hpp"

namespace firmware::sim {

inline constexpr std::uint64_t kFirstSerial = 1001;  // of boxes that were given none

enum class ActionKind : std::uint8_t {
  // Of the site; value 1: on or open, 0: off or closed.
  heater,
  cooling,
  humidifier,
  dryer,
  windows,
  thermostat,         // `value` deg C
  cooling_set_point,  // `value` deg C
  people,             // `value` of them in the room from now on
  wet_trade,          // `value` kg of water come in, gone within `span` in air of 50 %RH
  delivery,           // the cartons arrive; the core probe goes from the room into their middle
  delivery_at,        // the same, at `value` deg C
  // Of a line; target nullopt = every line.
  line_unplug,
  line_plug,
  line_swap,    // the adapters of two lines change places; `channel` is the other line
  line_echo,    // value 1: the adapter gives every request back, 0: no more
  line_babble,  // `value` random bytes between frames
  // Of a box; target nullopt = every box.
  box_reboot,      // a new boot over the same memory; ticks start at 0
  box_power_off,   // silent until powered again
  box_power_on,    // as a reboot
  box_drift,       // `value` ppm from now on, positive = fast
  box_clock_step,  // `value` seconds, positive = put forward
  sensor_status,   // channel reports status `value` of the register map; 0 = healthy again
  sensor_hold,     // channel shows `value` (its unit), whatever is true
  sensor_freeze,   // channel repeats its last counts
  sensor_free,     // ends status, hold and freeze
  sensor_spike,    // the next sample alone is off by `value` (its unit)
  supply_sag,      // the supply is `value` V
  supply_free,
  box_place,  // `value` = site::BoxPlace it is taken to
  breath,     // someone breathes on its air probe
  lid,        // value 1: open, 0: closed
  tilt,       // value 1: tilted, 0: upright
  // Of a transmitter; target nullopt = every transmitter. `channel` = position of its register.
  register_hold,  // the register shows `value` as its raw number
  register_freeze,
  register_free,
  words_flip,  // value 1: 32-bit values come with their words the other way round, 0: as declared
  transmitter_power,  // value 0: silent, 1: answers
  // Of the machine the logger runs on.
  host_clock_step,   // `value` seconds, positive = put forward
  host_clock_unset,  // shows 1970 and counts from there
  host_clock_set,    // right again
};

enum class ActionSubject : std::uint8_t { site, line, box, transmitter, host };
[[nodiscard]] ActionSubject subject_of(ActionKind kind);

struct ScenarioAction {
  analysis::base::Micros after_start{0};
  ActionKind kind = ActionKind::heater;
  std::optional<std::size_t> target{};  // index of the line, box or transmitter; nullopt = all
  std::size_t channel = 0;
  double value = 0.0;
  std::size_t script_line = 0;  // where it was written; 0 = nowhere
  analysis::base::Micros span{0};
};

struct ScenarioBox {
  box::BoxSetup box;
  std::size_t line = 0;         // index
  std::size_t script_line = 0;  // where it was declared; 0 = nowhere
};
struct ScenarioTransmitter {
  box::TransmitterSetup transmitter;
  std::size_t line = 0;         // index
  std::size_t script_line = 0;  // as of a box
};

// A statement for the harness that runs a daemon beside the site (notes, job file, expectations,
// ends of the daemon). The simulator alone leaves it out.
struct HarnessStatement {
  std::optional<analysis::base::Micros> after_start;  // nullopt = before the start or after the end
  std::size_t script_line = 0;
  std::vector<std::string> words;
};

struct Scenario {
  std::string name;
  analysis::base::UtcMicros start;
  analysis::base::Micros length{0};
  std::uint64_t seed = 1;
  site::SiteParameters site;
  std::string weather_file;  // as the text names it; empty = the site's own weather
  box::SensorParameters sensors;
  std::vector<ScenarioBox> boxes;  // none = whoever runs it says which
  std::vector<ScenarioTransmitter> transmitters;
  std::vector<ScenarioAction> actions;  // any order; equal times run in the order given
  std::vector<line::ExchangeFault> exchange_faults;
  std::vector<HarnessStatement> harness;  // in the order written
};

// How many lines its boxes and transmitters use; at least 1.
[[nodiscard]] std::size_t line_count_of(const Scenario& scenario);

// Names of the embedded scenarios: "heater-failure", "quick" and the library.
[[nodiscard]] const std::vector<std::string>& scenario_names();
// nullopt when there is no scenario of that name.
[[nodiscard]] std::optional<Scenario> scenario_from_name(std::string_view name);
// An embedded name, or else the path of a file; its weather record is read from beside it. The
// error is one line: file and line, word, what was expected.
[[nodiscard]] analysis::base::Result<Scenario, std::string> scenario_from_name_or_file(
    const std::string& name_or_path);

}  // namespace firmware::sim
