#include "firmware-sim/sim/scenario.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "firmware-sim/sim/script/library.hpp"
#include "firmware-sim/sim/script/scenario_text.hpp"
#include "firmware-sim/sim/site/nearest_name.hpp"
#include "firmware-sim/sim/site/weather/weather_record.hpp"

namespace firmware::sim {

using analysis::base::Failure;
using analysis::base::Result;

namespace {

Result<Scenario, std::string> with_weather(Scenario scenario, const std::string& path) {
  if (scenario.weather_file.empty()) {
    return scenario;
  }
  const auto file = std::filesystem::path(path).parent_path() / scenario.weather_file;
  auto record = site::weather_from_file(file.string());
  if (!record) {
    return Failure{path + ": " + record.error()};
  }
  const auto covers = site::check_covers(
      record.value(), {scenario.start, scenario.start + scenario.length}, scenario.weather_file);
  if (!covers) {
    return Failure{path + ": " + covers.error()};
  }
  scenario.site.weather.record = std::move(record).value();
  return scenario;
}

}  // namespace

// By the order in which the kinds are declared.
ActionSubject subject_of(ActionKind kind) {
  if (kind <= ActionKind::delivery_at) {
    return ActionSubject::site;
  }
  if (kind <= ActionKind::line_babble) {
    return ActionSubject::line;
  }
  if (kind <= ActionKind::tilt) {
    return ActionSubject::box;
  }
  return kind <= ActionKind::transmitter_power ? ActionSubject::transmitter : ActionSubject::host;
}

std::size_t line_count_of(const Scenario& scenario) {
  std::size_t last = 0;
  for (const ScenarioBox& placed : scenario.boxes) {
    last = std::max(last, placed.line);
  }
  for (const ScenarioTransmitter& placed : scenario.transmitters) {
    last = std::max(last, placed.line);
  }
  return last + 1;
}

const std::vector<std::string>& scenario_names() {
  static const std::vector<std::string> names = [] {
    std::vector<std::string> result;
    for (const script::LibraryText& text : script::library_texts()) {
      result.emplace_back(text.name);
    }
    return result;
  }();
  return names;
}

std::optional<Scenario> scenario_from_name(std::string_view name) {
  for (const script::LibraryText& text : script::library_texts()) {
    if (text.name == name) {
      auto scenario = script::scenario_from_text(text.text, std::string(name));
      return scenario ? std::optional(std::move(scenario).value()) : std::nullopt;
    }
  }
  return std::nullopt;
}

Result<Scenario, std::string> scenario_from_name_or_file(const std::string& name_or_path) {
  const auto texts = script::library_texts();
  const auto built_in = std::find_if(texts.begin(), texts.end(),
                                     [&](const auto& text) { return text.name == name_or_path; });
  if (built_in != texts.end()) {
    return script::scenario_from_text(built_in->text, name_or_path);
  }
  std::ifstream file(name_or_path, std::ios::binary);
  std::stringstream text;
  text << file.rdbuf();
  const bool is_file = file.is_open() && !std::filesystem::is_directory(name_or_path);
  if (is_file && text.str().empty()) {
    return Failure{name_or_path + ":1: it is empty; expected scenario text, docs/scenarios.md"};
  }
  if (!is_file) {
    std::vector<std::string_view> names(scenario_names().begin(), scenario_names().end());
    std::string known;
    for (const std::string_view name : names) {
      known += (known.empty() ? "" : ", ") + std::string(name);
    }
    return Failure{"scenario '" + name_or_path + "': expected a file of scenario text or one of " +
                   known + site::nearest_text(name_or_path, names)};
  }
  auto scenario = script::scenario_from_text(text.str(), name_or_path);
  if (!scenario) {
    return scenario;
  }
  return with_weather(std::move(scenario).value(), name_or_path);
}

}  // namespace firmware::sim
