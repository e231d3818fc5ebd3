#include <array>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "tests/scenarios/runner/scenario_case.hpp"

namespace scenarios {

using firmware::sim::ScenarioBox;
using firmware::sim::ScenarioTransmitter;
using firmware::sim::box::NumberType;
using firmware::sim::box::Quantity;
using firmware::sim::box::TransmitterRegister;
using nlohmann::ordered_json;

namespace {

constexpr int kBaud = 19200;

std::string port_of(const std::string& port, std::size_t line) {
  return line == 0 ? port : port + "." + std::to_string(line + 1);
}

// The first box is the template's own, the others copies of it with rooms of their own.
void add_boxes(ordered_json& job, const ScenarioCase& scenario_case, const std::string& port) {
  const ordered_json first_box = job["boxes"][0];
  const ordered_json first_room = job["rooms"][0];
  job["boxes"] = ordered_json::array();
  for (std::size_t i = 0; i < scenario_case.scenario.boxes.size(); ++i) {
    const ScenarioBox& placed = scenario_case.scenario.boxes[i];
    const std::string number = std::to_string(i + 1);
    ordered_json box = first_box;
    box["id"] = "box-" + number;
    box["serial"] = placed.box.serial;
    box["port"] = port_of(port, placed.line);
    box["unit"] = placed.box.unit;
    box["sample_interval_seconds"] = placed.box.sample_interval_s;
    if (i > 0) {
      ordered_json room = first_room;
      room["id"] = "room-" + number;
      room["name"] = "Room " + number;
      job["rooms"].push_back(room);
      for (ordered_json& channel : box["channels"]) {
        channel["id"] = channel["id"].get<std::string>() + "-" + number;
        channel["room"] = "room-" + number;
      }
    }
    job["boxes"].push_back(box);
  }
}

std::string role_of(Quantity quantity) {
  constexpr std::array<const char*, 8> kRoles{"room_air_temperature",
                                              "room_air_rh",
                                              "stack_core_temperature",
                                              "slab_surface_temperature",
                                              "slab_rh",
                                              "outdoor_temperature",
                                              "outdoor_rh",
                                              "supply_voltage"};
  return kRoles.at(static_cast<std::size_t>(quantity));
}

std::string unit_of(const TransmitterRegister& reg) {
  switch (reg.quantity) {
    case Quantity::air_rh:
    case Quantity::slab_rh:
    case Quantity::outdoor_rh:
      return reg.fraction ? "rh_fraction" : "percent_rh";
    case Quantity::supply:
      return reg.millivolt ? "millivolt" : "volt";
    default:
      return reg.fahrenheit ? "fahrenheit" : "celsius";
  }
}

ordered_json channel_of(const TransmitterRegister& reg, std::size_t index,
                        const std::string& number, const std::string& room) {
  constexpr std::array<const char*, 5> kTypes{"i16", "u16", "i32", "u32", "f32"};
  ordered_json channel = {{"index", index},
                          {"id", reg.name + "-t" + number},
                          {"room", room},
                          {"role", role_of(reg.quantity)},
                          {"register",
                           {{"function", reg.function},
                            {"address", reg.address},
                            {"type", kTypes.at(static_cast<std::size_t>(reg.type))},
                            {"unit", unit_of(reg)},
                            {"scale", reg.scale},
                            {"offset", reg.offset}}}};
  if (register_count_of(reg.type) == 2) {
    channel["register"]["word_order"] = reg.low_word_first ? "low_first" : "high_first";
  }
  return channel;
}

// Their channels are of the first room, outdoor ones too.
void add_transmitters(ordered_json& job, const ScenarioCase& scenario_case,
                      const std::string& port) {
  const std::string room = job["rooms"][0]["id"].get<std::string>();
  for (std::size_t i = 0; i < scenario_case.scenario.transmitters.size(); ++i) {
    const ScenarioTransmitter& placed = scenario_case.scenario.transmitters[i];
    const std::string number = std::to_string(i + 1);
    ordered_json channels = ordered_json::array();
    for (const TransmitterRegister& reg : placed.transmitter.registers) {
      channels.push_back(channel_of(reg, channels.size(), number, room));
    }
    job["boxes"].push_back({{"id", "transmitter-" + number},
                            {"port", port_of(port, placed.line)},
                            {"unit", placed.transmitter.unit},
                            {"baud", kBaud},
                            {"registers", ordered_json::object()},
                            {"channels", channels}});
  }
}

}  // namespace

std::string job_for_case(const ScenarioCase& scenario_case, const std::string& template_text,
                         const std::string& port) {
  ordered_json job = ordered_json::parse(template_text, nullptr, true, true);
  add_boxes(job, scenario_case, port);
  add_transmitters(job, scenario_case, port);
  for (const JobEdit& edit : scenario_case.job_edits) {
    const auto value = ordered_json::parse(edit.json, nullptr, false);
    if (value.is_discarded()) {
      throw std::runtime_error("job " + edit.pointer + ": '" + edit.json + "' is no JSON");
    }
    job[ordered_json::json_pointer(edit.pointer)] = value;
  }
  return job.dump(2) + "\n";
}

}  // namespace scenarios
