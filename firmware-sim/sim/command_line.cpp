#include "firmware-sim/sim/command_line.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <limits>
#include <map>
#include <optional>
#include <string_view>
#include <utility>

#include "firmware-sim/sim/script/library.hpp"

namespace firmware::sim {
namespace {

using analysis::base::Failure;
using analysis::base::Result;

constexpr std::uint64_t kMostBoxes = core::kMaxUnit;
constexpr std::array<std::string_view, 11> kOptions{
    "--scenario", "--port",       "--time-socket", "--nv",   "--box", "--clients",
    "--boxes",    "--interval-s", "--drift-ppm",   "--seed", "--show"};

// What was given, before it is checked as a whole.
struct Given {
  std::string scenario = "heater-failure";
  std::string port;
  std::string memory_file;
  std::optional<std::uint64_t> seed;
  std::uint64_t box_count = 1;
  bool names_boxes = false;  // any option that says which boxes there are, or how they are
  bool separate_lines = false;
  std::vector<std::string> boxes;
  std::uint64_t interval_s = 60;
  double drift_ppm = 0.0;
};

std::optional<std::uint64_t> number_from(std::string_view text, std::uint64_t lowest,
                                         std::uint64_t highest) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || value < lowest ||
      value > highest) {
    return std::nullopt;
  }
  return value;
}

std::string range_text(std::uint64_t lowest, std::uint64_t highest) {
  return "expected a whole number from " + std::to_string(lowest) + " to " +
         std::to_string(highest);
}

std::string take_number(const std::string& option, const std::string& text, std::uint64_t lowest,
                        std::uint64_t highest, std::uint64_t& into) {
  const auto value = number_from(text, lowest, highest);
  if (!value) {
    return option + " '" + text + "': " + range_text(lowest, highest);
  }
  into = *value;
  return "";
}

std::string take_drift(const std::string& text, double& into) {
  double value = 0.0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !(value >= -1000.0) ||
      !(value <= 1000.0)) {
    return "--drift-ppm '" + text + "': expected a number from -1000 to 1000 ppm";
  }
  into = value;
  return "";
}

// UNIT:SERIAL[:PORT]
Result<BoxOnLine, std::string> box_from(const std::string& text, const std::string& default_port) {
  const std::size_t first = text.find(':');
  const std::size_t second = first == std::string::npos ? first : text.find(':', first + 1);
  const auto unit = number_from(std::string_view(text).substr(0, first), 1, core::kMaxUnit);
  const auto serial =
      first == std::string::npos
          ? std::nullopt
          : number_from(std::string_view(text).substr(
                            first + 1, second == std::string::npos ? second : second - first - 1),
                        1, std::numeric_limits<std::uint64_t>::max());
  BoxOnLine box;
  box.port = second == std::string::npos ? default_port : text.substr(second + 1);
  if (!unit || !serial || box.port.empty()) {
    return Failure{"--box '" + text +
                   "': expected UNIT:SERIAL[:PORT] with unit 1 to 247, serial 1 or more, and a "
                   "port here or with --port"};
  }
  box.box.unit = static_cast<std::uint8_t>(*unit);
  box.box.serial = *serial;
  return box;
}

Result<std::vector<BoxOnLine>, std::string> boxes_from(const Given& given) {
  std::vector<BoxOnLine> boxes;
  for (const std::string& text : given.boxes) {
    auto box = box_from(text, given.port);
    if (!box) {
      return Failure{box.error()};
    }
    boxes.push_back(box.value());
  }
  if (boxes.empty() && given.port.empty()) {
    return Failure{std::string("--port is missing: expected the path of the link to make")};
  }
  for (std::uint64_t i = 0; given.boxes.empty() && i < given.box_count; ++i) {
    BoxOnLine box;
    box.box.serial = kFirstSerial + i;
    box.box.unit = given.separate_lines ? std::uint8_t{1} : static_cast<std::uint8_t>(i + 1);
    box.port = given.separate_lines ? given.port + "." + std::to_string(i + 1) : given.port;
    boxes.push_back(box);
  }
  for (BoxOnLine& box : boxes) {
    box.box.sample_interval_s = static_cast<std::uint16_t>(given.interval_s);
    box.box.drift_ppm = given.drift_ppm;
    if (!given.memory_file.empty()) {
      box.box.memory_file = boxes.size() == 1
                                ? given.memory_file
                                : given.memory_file + "." + std::to_string(box.box.serial);
    }
  }
  return boxes;
}

std::string take_shown(const std::string& name, std::string& into) {
  const auto texts = script::library_texts();
  const auto found = std::find_if(texts.begin(), texts.end(), [&](const script::LibraryText& text) {
    return text.name == name;
  });
  if (found == texts.end()) {
    return "--show '" + name + "': expected a built-in scenario; --list names them";
  }
  into = found->text;
  return "";
}

// Takes one option of kOptions with its value; the text of what is wrong, or empty.
std::string take_option(const std::string& option, const std::string& value, Given& given,
                        Options& options) {
  constexpr std::uint64_t kAny = std::numeric_limits<std::uint64_t>::max();
  given.names_boxes = given.names_boxes || option == "--nv" || option == "--box" ||
                      option == "--boxes" || option == "--interval-s" || option == "--drift-ppm";
  if (option == "--scenario") {
    given.scenario = value;
  } else if (option == "--port") {
    given.port = value;
  } else if (option == "--time-socket") {
    options.run.time_socket = value;
  } else if (option == "--nv") {
    given.memory_file = value;
  } else if (option == "--box") {
    given.boxes.push_back(value);
  } else if (option == "--clients") {
    return take_number(option, value, 0, 1000, options.run.clients);
  } else if (option == "--boxes") {
    return take_number(option, value, 1, kMostBoxes, given.box_count);
  } else if (option == "--interval-s") {
    return take_number(option, value, 1, core::kMaxSampleIntervalS, given.interval_s);
  } else if (option == "--drift-ppm") {
    return take_drift(value, given.drift_ppm);
  } else if (option == "--seed") {
    return take_number(option, value, 0, kAny, given.seed.emplace(0));
  } else if (option == "--show") {
    return take_shown(value, options.show);
  }
  return "";
}

bool take_flag(const std::string& option, Given& given, Options& options) {
  if (option == "--real-time") {
    options.run.pace = Pace::wall_clock;
  } else if (option == "--progress") {
    options.progress = true;
  } else if (option == "--separate-lines") {
    given.separate_lines = true;
    given.names_boxes = true;
  } else if (option == "--help" || option == "-h") {
    options.help = true;
  } else if (option == "--list") {
    options.list = true;
  } else {
    return false;
  }
  return true;
}

Result<Options, std::string> finished(const Given& given, Options options) {
  auto scenario = scenario_from_name_or_file(given.scenario);
  if (!scenario) {
    return Failure{"--scenario: " + scenario.error()};
  }
  options.run.scenario = std::move(scenario).value();
  options.run.scenario.seed = given.seed.value_or(options.run.scenario.seed);
  if (options.run.pace == Pace::lock_step && options.run.time_socket.empty()) {
    return Failure{
        std::string("--time-socket is missing: expected the path of the socket to make, or "
                    "--real-time")};
  }
  if (options.run.pace == Pace::wall_clock && !options.run.time_socket.empty()) {
    return Failure{std::string("--time-socket and --real-time exclude each other")};
  }
  if (!options.run.scenario.boxes.empty() || !options.run.scenario.transmitters.empty()) {
    if (given.names_boxes || given.port.empty()) {
      return Failure{given.port.empty()
                         ? std::string("--port is missing: expected the path of the link to make")
                         : given.scenario +
                               " names its own boxes; expected no option about boxes but --port"};
    }
    place_on_ports(options.run, given.port);
  } else {
    auto boxes = boxes_from(given);
    if (!boxes) {
      return Failure{boxes.error()};
    }
    options.run.boxes = std::move(boxes).value();
  }
  if (std::string fault = fault_of(options.run); !fault.empty()) {
    return Failure{std::move(fault)};
  }
  return options;
}

}  // namespace

Result<Options, std::string> options_from_arguments(const std::vector<std::string>& arguments) {
  Given given;
  Options options;
  for (std::size_t i = 0; i < arguments.size(); ++i) {
    std::string option = arguments[i];
    if (take_flag(option, given, options)) {
      continue;
    }
    std::optional<std::string> value;
    if (const std::size_t equals = option.find('='); equals != std::string::npos) {
      value = option.substr(equals + 1);
      option.resize(equals);
    } else if (i + 1 < arguments.size()) {
      value = arguments[++i];
    }
    if (std::find(kOptions.begin(), kOptions.end(), option) == kOptions.end()) {
      return Failure{"'" + option + "' is no option of probe-box-sim; --help lists them"};
    }
    if (!value || value->empty()) {
      return Failure{option + " needs a value"};
    }
    if (std::string fault = take_option(option, *value, given, options); !fault.empty()) {
      return Failure{std::move(fault)};
    }
  }
  if (options.help || options.list || !options.show.empty()) {
    return options;
  }
  return finished(given, std::move(options));
}

std::string help_text() {
  return R"(probe-box-sim: a simulated building site with one or more probe boxes on serial lines.
Everything it shows is invented.

  --scenario NAME|FILE a built-in one, heater-failure (six days, the default), quick (three
                       hours) and others (--list), or a text as in docs/scenarios.md
  --list               name the built-in scenarios and end
  --show NAME          the text of a built-in scenario, to begin an own one from
  --port LINK          path of the link to the serial line (a pseudo-terminal); the second line of
                       a scenario is LINK.2, and so on
  --time-socket PATH   path of the time server's socket: simulated time in lock step
  --clients N          time starts when N clients have come (default 1; 0 = at once)
  --real-time          wall clock pace instead, without time server
  --seed S             seed of weather and sensors
  --boxes N            N boxes, units 1..N and serials 1001.. on one line (default 1)
  --separate-lines     with --boxes: each box on a line of its own, LINK.1, LINK.2 ..., unit 1
  --box UNIT:SERIAL[:PORT]
                       one box, repeated for several; without PORT on the line of --port.
                       Boxes that name the same PORT share the line
  --interval-s N       sample interval of the boxes, seconds (default 60)
  --drift-ppm X        how fast the boxes' clocks run, parts per million (default 0)
  --nv FILE            keep the box's memory in FILE (several boxes: FILE.SERIAL)
  --progress           show how far the site is

Exit status: 0 the scenario is over or the program was asked to stop; 1 wrong arguments or scenario;
4 line, socket or memory file can't be made.
)";
}

std::string list_text() {
  constexpr std::size_t kWidth = 24;
  std::string lines;
  for (const script::LibraryText& text : script::library_texts()) {
    const std::string_view first = text.text.substr(0, text.text.find('\n'));
    std::string name{text.name};
    name.resize(std::max(kWidth, name.size() + 1), ' ');
    lines += name + std::string(first.substr(std::min<std::size_t>(2, first.size()))) + '\n';
  }
  return lines;
}

}  // namespace firmware::sim
