// What a simulation run is made from: a scenario, and the boxes, transmitters and lines it happens
// to. Checks that they fit each other. No I/O.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "firmware-sim/sim/box/simulated_box.hpp"
#include "firmware-sim/sim/box/transmitter.hpp"
#include "firmware-sim/sim/scenario.hpp"

namespace firmware::sim {

struct BoxOnLine {
  box::BoxSetup box;
  // Path of the link to the line; boxes that name the same path share the line. Empty = no cable.
  std::string port;
  std::size_t script_line = 0;  // of the scenario; 0 = not declared in one
};

struct TransmitterOnLine {
  box::TransmitterSetup transmitter;
  std::string port;             // as of a box
  std::size_t script_line = 0;  // as of a box
};

enum class Pace : std::uint8_t {
  lock_step,   // with the clients of the time server
  wall_clock,  // one simulated second a second; no time server
  free,        // as fast as it goes; no time server
};

struct RunSettings {
  Scenario scenario;  // its own boxes and transmitters are not looked at; see place_on_ports
  // The lines in their order, for what names a line by its number; those that only a box names
  // come after them.
  std::vector<std::string> ports;
  std::vector<BoxOnLine> boxes;  // units unique on a line, serials unique
  std::vector<TransmitterOnLine> transmitters;
  Pace pace = Pace::lock_step;
  std::string time_socket;    // lock_step only: path of the Unix socket to make
  std::uint64_t clients = 1;  // time starts when this many have said hello
};

// Puts the boxes and transmitters of settings.scenario on lines: the first line is `port`, the n-th
// `port`.n.
void place_on_ports(RunSettings& settings, const std::string& port);

// The ports of all lines in their order, each once.
[[nodiscard]] std::vector<std::string> ports_of(const RunSettings& settings);

// What can't be so about the boxes, their serials and addresses, or about what the scenario names
// by its number; one line with the scenario's name and line
// where it has one, empty = nothing.
[[nodiscard]] std::string fault_of(const RunSettings& settings);

}  // namespace firmware::sim
