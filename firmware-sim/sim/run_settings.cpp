#include "firmware-sim/sim/run_settings.hpp"

#include <algorithm>
#include <map>
#include <optional>
#include <utility>

#include "firmware-sim/core/modbus_frame.hpp"

namespace firmware::sim {
namespace {

// "NAME:LINE: " of the scenario; empty for what no line of it says.
std::string where(const RunSettings& settings, std::size_t script_line) {
  return script_line == 0 ? "" : settings.scenario.name + ":" + std::to_string(script_line) + ": ";
}

using Addresses = std::map<std::pair<std::string, int>, std::string>;

// Takes the address for `who`.
std::string address_fault(const std::string& who, int unit, const std::string& port,
                          Addresses& addresses) {
  const std::string what = "'unit " + std::to_string(unit) + "' of " + who;
  if (unit < 1 || unit > core::kMaxUnit) {
    return what + ": expected 1 to 247";
  }
  if (port.empty()) {
    return "";
  }
  const auto [holder, is_new] = addresses.emplace(std::pair(port, unit), who);
  return is_new ? ""
                : what + ": expected a unit that is free on " + port + ", " + holder->second +
                      " has this one";
}

std::string device_fault(const RunSettings& settings) {
  std::map<std::uint64_t, std::string> serials;
  Addresses addresses;
  for (std::size_t i = 0; i < settings.boxes.size(); ++i) {
    const BoxOnLine& placed = settings.boxes[i];
    const std::string who = "box " + std::to_string(i + 1);
    const std::string serial = "'serial " + std::to_string(placed.box.serial) + "' of " + who;
    if (placed.box.serial == 0) {
      return where(settings, placed.script_line) + serial + ": expected 1 or more";
    }
    if (const auto [holder, is_new] = serials.emplace(placed.box.serial, who); !is_new) {
      return where(settings, placed.script_line) + serial + ": expected another than that of " +
             holder->second;
    }
    if (auto fault = address_fault(who, placed.box.unit, placed.port, addresses); !fault.empty()) {
      return where(settings, placed.script_line) + fault;
    }
  }
  for (std::size_t i = 0; i < settings.transmitters.size(); ++i) {
    const TransmitterOnLine& placed = settings.transmitters[i];
    if (auto fault = address_fault("transmitter " + std::to_string(i + 1), placed.transmitter.unit,
                                   placed.port, addresses);
        !fault.empty()) {
      return where(settings, placed.script_line) + fault;
    }
  }
  return "";
}

struct Counts {
  std::size_t lines = 0;
  std::size_t boxes = 0;
  std::size_t transmitters = 0;
};

// nullopt = all there are, which may be none.
std::string number_fault(const std::string& place, const std::string& what,
                         std::optional<std::size_t> index, std::size_t count) {
  if (!index || *index < count) {
    return "";
  }
  return place + "'" + what + " " + std::to_string(*index + 1) + "': expected " +
         (count == 0   ? "none, there is no " + what
          : count == 1 ? what + " 1, the only one"
                       : "1 to " + std::to_string(count));
}

std::string action_fault(const ScenarioAction& action, const std::string& place,
                         const Counts& counts) {
  switch (subject_of(action.kind)) {
    case ActionSubject::line: {
      std::string fault = number_fault(place, "line", action.target, counts.lines);
      return !fault.empty() || action.kind != ActionKind::line_swap
                 ? fault
                 : number_fault(place, "line", action.channel, counts.lines);
    }
    case ActionSubject::box:
      return number_fault(place, "box", action.target, counts.boxes);
    case ActionSubject::transmitter:
      return number_fault(place, "transmitter", action.target, counts.transmitters);
    default:
      return "";
  }
}

std::string reference_fault(const RunSettings& settings, const Counts& counts) {
  for (const ScenarioAction& action : settings.scenario.actions) {
    if (std::string fault = action_fault(action, where(settings, action.script_line), counts);
        !fault.empty()) {
      return fault;
    }
  }
  for (const line::ExchangeFault& fault : settings.scenario.exchange_faults) {
    const bool is_box = fault.device == line::DeviceKind::box;
    std::string text =
        number_fault(where(settings, fault.script_line), is_box ? "box" : "transmitter",
                     fault.index, is_box ? counts.boxes : counts.transmitters);
    if (!text.empty()) {
      return text;
    }
  }
  return "";
}

}  // namespace

void place_on_ports(RunSettings& settings, const std::string& port) {
  const auto port_of = [&](std::size_t line) {
    return line == 0 ? port : port + "." + std::to_string(line + 1);
  };
  for (std::size_t line = 0; line < line_count_of(settings.scenario); ++line) {
    settings.ports.push_back(port_of(line));
  }
  for (const ScenarioBox& placed : settings.scenario.boxes) {
    settings.boxes.push_back({placed.box, port_of(placed.line), placed.script_line});
  }
  for (const ScenarioTransmitter& placed : settings.scenario.transmitters) {
    settings.transmitters.push_back({placed.transmitter, port_of(placed.line), placed.script_line});
  }
}

std::vector<std::string> ports_of(const RunSettings& settings) {
  std::vector<std::string> ports;
  const auto add = [&](const std::string& port) {
    if (!port.empty() && std::find(ports.begin(), ports.end(), port) == ports.end()) {
      ports.push_back(port);
    }
  };
  std::for_each(settings.ports.begin(), settings.ports.end(), add);
  for (const BoxOnLine& placed : settings.boxes) {
    add(placed.port);
  }
  for (const TransmitterOnLine& placed : settings.transmitters) {
    add(placed.port);
  }
  return ports;
}

std::string fault_of(const RunSettings& settings) {
  std::string fault = device_fault(settings);
  return fault.empty()
             ? reference_fault(settings, {ports_of(settings).size(), settings.boxes.size(),
                                          settings.transmitters.size()})
             : fault;
}

}  // namespace firmware::sim
