// What a SimulationRun does when an action of its scenario is due.
#include <utility>

#include "analysis/base/record.hpp"
#include "firmware-sim/sim/simulation_run.hpp"

namespace firmware::sim {

using analysis::base::Micros;
using analysis::base::UtcMicros;

namespace {

constexpr double kMicrosPerSecond = 1e6;

// A client could notice it at once.
bool is_visible(ActionKind kind) {
  switch (kind) {
    case ActionKind::line_unplug:
    case ActionKind::line_plug:
    case ActionKind::line_swap:
    case ActionKind::line_babble:
    case ActionKind::box_reboot:
    case ActionKind::box_power_off:
    case ActionKind::box_power_on:
    case ActionKind::host_clock_step:
    case ActionKind::host_clock_unset:
    case ActionKind::host_clock_set:
      return true;
    default:
      return false;
  }
}

Micros micros_from_seconds(double seconds) {
  return Micros{static_cast<std::int64_t>(seconds * kMicrosPerSecond)};
}

}  // namespace

void SimulationRun::schedule_actions() {
  for (const ScenarioAction& action : settings_.scenario.actions) {
    push(settings_.scenario.start + action.after_start, is_visible(action.kind), [this, action] {
      if (subject_of(action.kind) == ActionSubject::line) {
        when_told([this, action] { perform(action); });
      } else {
        perform(action);
      }
    });
  }
}

void SimulationRun::perform(const ScenarioAction& action) {
  site_.advance_to(now_);
  const auto each = [&](std::size_t count, auto&& act) {
    const std::size_t first = action.target.value_or(0);
    const std::size_t last = action.target ? first + 1 : count;
    for (std::size_t index = first; index < last; ++index) {
      act(index);
    }
  };
  switch (subject_of(action.kind)) {
    case ActionSubject::site:
      perform_on_site(action);
      break;
    case ActionSubject::line:
      each(lines_.size(), [&](std::size_t index) { perform_on_line(action, index); });
      break;
    case ActionSubject::box:
      each(boxes_.size(), [&](std::size_t index) { perform_on_box(action, index); });
      break;
    case ActionSubject::transmitter:
      each(transmitters_.size(), [&](std::size_t index) {
        perform_on_transmitter(action, *transmitters_[index].transmitter);
      });
      break;
    case ActionSubject::host:
      perform_on_host(action);
      break;
  }
}

void SimulationRun::perform_on_site(const ScenarioAction& action) {
  site::RoomControls& controls = site_.controls();
  const bool on = action.value != 0.0;
  switch (action.kind) {
    case ActionKind::heater:
      controls.heater_on = on;
      break;
    case ActionKind::cooling:
      controls.cooling_on = on;
      break;
    case ActionKind::humidifier:
      controls.humidifier_on = on;
      break;
    case ActionKind::dryer:
      controls.dryer_on = on;
      break;
    case ActionKind::windows:
      controls.windows_open = on;
      break;
    case ActionKind::thermostat:
      controls.thermostat = analysis::base::Celsius{action.value};
      break;
    case ActionKind::cooling_set_point:
      controls.cooling_set_point = analysis::base::Celsius{action.value};
      break;
    case ActionKind::people:
      controls.people = action.value;
      break;
    case ActionKind::wet_trade:
      site_.start_wet_trade(analysis::base::Kilograms{action.value}, action.span);
      break;
    case ActionKind::delivery_at:
      site_.deliver_cartons(analysis::base::Celsius{action.value});
      break;
    default:
      site_.deliver_cartons();
      break;
  }
}

void SimulationRun::perform_on_line(const ScenarioAction& action, std::size_t index) {
  switch (action.kind) {
    case ActionKind::line_unplug:
    case ActionKind::line_plug:
      set_plugged(index, action.kind == ActionKind::line_plug);
      break;
    case ActionKind::line_swap:
      swap_lines(index, action.channel);
      break;
    case ActionKind::line_echo:
      lines_[index].echoes = action.value != 0.0;
      break;
    default:
      lines_[index].pty->write(faults_.noise(static_cast<std::uint64_t>(action.value)));
      break;
  }
}

// The cables stay where they are; what changes is which path leads to which of them.
void SimulationRun::swap_lines(std::size_t first, std::size_t second) {
  set_plugged(first, false);
  set_plugged(second, false);
  const auto other = [&](std::optional<std::size_t> line) {
    return line == first ? second : line == second ? first : line;
  };
  for (PlacedBox& placed : boxes_) {
    placed.line = other(placed.line);
  }
  for (PlacedTransmitter& placed : transmitters_) {
    placed.line = other(placed.line);
  }
  std::swap(lines_[first].echoes, lines_[second].echoes);
  set_plugged(first, true);
  set_plugged(second, true);
}

void SimulationRun::perform_on_box(const ScenarioAction& action, std::size_t index) {
  PlacedBox& placed = boxes_.at(index);
  switch (action.kind) {
    case ActionKind::box_reboot:
    case ActionKind::box_power_on:
      start_box(index);
      break;
    case ActionKind::box_power_off:
      ++placed.start_number;
      placed.box->power_off();
      break;
    case ActionKind::box_drift:
    case ActionKind::box_clock_step:
      if (placed.box->running()) {
        if (action.kind == ActionKind::box_drift) {
          placed.box->set_drift(action.value, now_);
        } else {
          placed.box->step_clock(micros_from_seconds(action.value), now_);
        }
        ++placed.start_number;  // the next sample is due at another time now
        schedule_sample(index);
      }
      break;
    case ActionKind::box_place:
      placed.surroundings.move_to(static_cast<site::BoxPlace>(action.value), site_, now_);
      break;
    case ActionKind::breath:
      placed.surroundings.breathe_on(now_);
      break;
    default:
      perform_on_sensors(action, placed.box->sensors());
      break;
  }
}

void SimulationRun::perform_on_sensors(const ScenarioAction& action, box::SensorSet& sensors) {
  const bool on = action.value != 0.0;
  switch (action.kind) {
    case ActionKind::sensor_status:
      sensors.set_status(action.channel, static_cast<std::uint8_t>(action.value));
      break;
    case ActionKind::sensor_hold:
      sensors.hold(action.channel, action.value);
      break;
    case ActionKind::sensor_freeze:
      sensors.freeze(action.channel);
      break;
    case ActionKind::sensor_free:
      sensors.free(action.channel);
      break;
    case ActionKind::sensor_spike:
      sensors.spike(action.channel, action.value);
      break;
    case ActionKind::supply_sag:
      sensors.set_supply(action.value);
      break;
    case ActionKind::supply_free:
      sensors.set_supply(std::nullopt);
      break;
    case ActionKind::lid:
      sensors.set_flag(analysis::base::kFlagLidOpen, on);
      break;
    default:
      sensors.set_flag(analysis::base::kFlagTilted, on);
      break;
  }
}

void SimulationRun::perform_on_transmitter(const ScenarioAction& action,
                                           box::Transmitter& transmitter) {
  switch (action.kind) {
    case ActionKind::register_hold:
      transmitter.hold(action.channel, action.value);
      break;
    case ActionKind::register_freeze:
      transmitter.freeze(action.channel);
      break;
    case ActionKind::register_free:
      transmitter.free(action.channel);
      break;
    case ActionKind::words_flip:
      transmitter.set_words_flipped(action.value != 0.0);
      break;
    default:
      transmitter.set_powered(action.value != 0.0);
      break;
  }
}

void SimulationRun::perform_on_host(const ScenarioAction& action) {
  if (action.kind == ActionKind::host_clock_unset) {
    host_offset_ = UtcMicros{0} - now_;
  } else if (action.kind == ActionKind::host_clock_set) {
    host_offset_ = Micros{0};
  } else {
    host_offset_ += micros_from_seconds(action.value);
  }
  if (server_) {
    server_->set_host_offset(host_offset_);
  }
}

void SimulationRun::set_plugged(std::size_t index, bool plugged) {
  Line& line = lines_[index];
  if (!plugged) {
    line.pty->unplug();
  } else if (auto made = line.pty->plug(); !made) {
    complaint_(made.error());
  }
}

}  // namespace firmware::sim
