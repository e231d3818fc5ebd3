#include "firmware-sim/sim/run_settings.hpp"

#include <algorithm>
#include <optional>
#include <set>
#include <utility>

#include "firmware-sim/core/modbus_frame.hpp"

namespace firmware::sim {
namespace {

std::string address_fault(const std::string& who, int unit, const std::string& port,
                          std::set<std::pair<std::string, int>>& addresses) {
  if (unit < 1 || unit > core::kMaxUnit) {
    return who + ": unit " + std::to_string(unit) + "; expected 1 to 247";
  }
  if (!port.empty() && !addresses.insert({port, unit}).second) {
    return who + ": unit " + std::to_string(unit) + " is taken on " + port +
           "; expected different units on one line";
  }
  return "";
}

std::string device_fault(const RunSettings& settings) {
  std::set<std::uint64_t> serials;
  std::set<std::pair<std::string, int>> addresses;
  for (const BoxOnLine& placed : settings.boxes) {
    const std::string who = "box " + std::to_string(placed.box.serial);
    if (placed.box.serial == 0) {
      return "box serial 0; expected 1 or more";
    }
    if (!serials.insert(placed.box.serial).second) {
      return who + " is there twice; expected different serials";
    }
    if (auto fault = address_fault(who, placed.box.unit, placed.port, addresses); !fault.empty()) {
      return fault;
    }
  }
  for (std::size_t i = 0; i < settings.transmitters.size(); ++i) {
    const TransmitterOnLine& placed = settings.transmitters[i];
    if (auto fault = address_fault("transmitter " + std::to_string(i + 1), placed.transmitter.unit,
                                   placed.port, addresses);
        !fault.empty()) {
      return fault;
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
std::string number_fault(std::size_t script_line, const std::string& what,
                         std::optional<std::size_t> index, std::size_t count) {
  if (!index || *index < count) {
    return "";
  }
  const std::string where =
      script_line == 0 ? "scenario" : "scenario line " + std::to_string(script_line);
  return where + ": " + what + " " + std::to_string(*index + 1) + "; expected " +
         (count == 0 ? "none, there is no " + what : "1 to " + std::to_string(count));
}

std::string action_fault(const ScenarioAction& action, const Counts& counts) {
  switch (subject_of(action.kind)) {
    case ActionSubject::line: {
      std::string fault = number_fault(action.script_line, "line", action.target, counts.lines);
      return !fault.empty() || action.kind != ActionKind::line_swap
                 ? fault
                 : number_fault(action.script_line, "line", action.channel, counts.lines);
    }
    case ActionSubject::box:
      return number_fault(action.script_line, "box", action.target, counts.boxes);
    case ActionSubject::transmitter:
      return number_fault(action.script_line, "transmitter", action.target, counts.transmitters);
    default:
      return "";
  }
}

std::string reference_fault(const RunSettings& settings, const Counts& counts) {
  for (const ScenarioAction& action : settings.scenario.actions) {
    if (std::string fault = action_fault(action, counts); !fault.empty()) {
      return fault;
    }
  }
  for (const line::ExchangeFault& fault : settings.scenario.exchange_faults) {
    const bool is_box = fault.device == line::DeviceKind::box;
    std::string text = number_fault(fault.script_line, is_box ? "box" : "transmitter", fault.index,
                                    is_box ? counts.boxes : counts.transmitters);
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
    settings.boxes.push_back({placed.box, port_of(placed.line)});
  }
  for (const ScenarioTransmitter& placed : settings.scenario.transmitters) {
    settings.transmitters.push_back({placed.transmitter, port_of(placed.line)});
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
