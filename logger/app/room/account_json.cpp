#include "logger/app/room/account_json.hpp"

#include <nlohmann/json.hpp>

namespace logger::app {

using analysis::base::Celsius;
using analysis::base::RelativeHumidity;
using analysis::base::SeriesPoint;
using analysis::base::UtcMicros;
using analysis::readiness::ChannelWindow;
using analysis::readiness::DwellSample;
using analysis::readiness::DwellState;
using nlohmann::json;

namespace {

constexpr int kVersion = 2;

json json_from(bool value) { return value; }
json json_from(std::int64_t value) { return value; }
json json_from(double value) { return value; }
json json_from(UtcMicros value) { return value.value; }
json json_from(Celsius value) { return value.value(); }
json json_from(RelativeHumidity value) { return value.value(); }
template <class T>
json json_from(const std::optional<T>& value) {
  return value ? json_from(*value) : json(nullptr);
}

void read(const json& from, bool& into) { into = from.get<bool>(); }
void read(const json& from, std::int64_t& into) { into = from.get<std::int64_t>(); }
void read(const json& from, double& into) { into = from.get<double>(); }
void read(const json& from, UtcMicros& into) { into.value = from.get<std::int64_t>(); }
void read(const json& from, Celsius& into) { into = Celsius{from.get<double>()}; }
void read(const json& from, RelativeHumidity& into) { into = RelativeHumidity{from.get<double>()}; }
template <class T>
void read(const json& from, std::optional<T>& into) {
  if (!from.is_null()) {
    read(from, into.emplace());
  }
}

// Names every member once, for both directions.
template <class State, class Visit>
void visit_members(State& state, Visit visit) {
  visit("in_band_seconds", state.in_band_seconds);
  visit("excursion_seconds", state.excursion_seconds);
  visit("pending_unknown_seconds", state.pending_unknown_seconds);
  visit("excursion_sum_seconds", state.excursion_sum_seconds);
  visit("unknown_run_seconds", state.unknown_run_seconds);
  visit("total_in_seconds", state.total_in_seconds);
  visit("total_out_seconds", state.total_out_seconds);
  visit("total_unknown_seconds", state.total_unknown_seconds);
  visit("done_at_utc_us", state.done_at);
  visit("first_at_utc_us", state.first_at);
  visit("run_started_at_utc_us", state.run_started_at);
  visit("run_temperature_min_celsius", state.run_temperature_min);
  visit("run_temperature_max_celsius", state.run_temperature_max);
  visit("run_rh_min_fraction", state.run_rh_min);
  visit("run_rh_max_fraction", state.run_rh_max);
  visit("counting", state.counting);
  visit("rejected", state.rejected);
  visit("resets", state.resets);
}

json json_from(const SeriesPoint& point) { return json::array({point.at.value, point.value}); }

SeriesPoint point_from(const json& pair) {
  return {UtcMicros{pair.at(0).get<std::int64_t>()}, pair.at(1).get<double>()};
}

json json_from(const ChannelWindow& window) {
  json points = json::array();
  for (const SeriesPoint& point : window.points) {
    points.push_back(json_from(point));
  }
  return json{{"points_utc_us_value", points},
              {"last_seen_at_utc_us", json_from(window.last_seen_at)},
              {"last_status", static_cast<int>(window.last_status)},
              {"last_quality", static_cast<int>(window.last_quality)},
              {"last_good", window.last_good ? json_from(*window.last_good) : json(nullptr)}};
}

ChannelWindow window_from(const json& tree) {
  ChannelWindow window;
  for (const json& pair : tree.at("points_utc_us_value")) {
    window.points.push_back(point_from(pair));
  }
  read(tree.at("last_seen_at_utc_us"), window.last_seen_at);
  window.last_status =
      static_cast<analysis::base::ChannelStatus>(tree.at("last_status").get<int>());
  window.last_quality =
      static_cast<analysis::readiness::Quality>(tree.at("last_quality").get<int>());
  if (!tree.at("last_good").is_null()) {
    window.last_good = point_from(tree.at("last_good"));
  }
  return window;
}

}  // namespace

std::string text_from_account(const AccountState& state) {
  json dwell = json::object();
  visit_members(state.dwell,
                [&](const char* name, const auto& member) { dwell[name] = json_from(member); });
  if (state.dwell.previous) {
    dwell["previous"] = {{"at_utc_us", json_from(state.dwell.previous->at)},
                         {"temperature_celsius", json_from(state.dwell.previous->temperature)},
                         {"rh_fraction", json_from(state.dwell.previous->rh)}};
  }
  json through = json::object();
  for (const auto& [box_id, id] : state.through) {
    through[box_id] = {id.boot, id.sequence};
  }
  json windows = json::object();
  for (const auto& [channel_id, window] : state.windows) {
    windows[channel_id] = json_from(window);
  }
  return json{{"version", kVersion},
              {"dwell", dwell},
              {"through_boot_sequence", through},
              {"windows", windows}}
      .dump();
}

std::optional<AccountState> account_from_text(const std::string& text) {
  try {
    const json tree = json::parse(text);
    if (tree.at("version").get<int>() != kVersion) {
      return std::nullopt;
    }
    AccountState state;
    const json& dwell = tree.at("dwell");
    visit_members(state.dwell,
                  [&](const char* name, auto& member) { read(dwell.at(name), member); });
    if (dwell.contains("previous")) {
      DwellSample& previous = state.dwell.previous.emplace();
      read(dwell["previous"].at("at_utc_us"), previous.at);
      read(dwell["previous"].at("temperature_celsius"), previous.temperature);
      read(dwell["previous"].at("rh_fraction"), previous.rh);
    }
    for (const auto& [box_id, id] : tree.at("through_boot_sequence").items()) {
      state.through[box_id] = {id.at(0).get<std::uint32_t>(), id.at(1).get<std::int64_t>()};
    }
    for (const auto& [channel_id, window] : tree.at("windows").items()) {
      state.windows.emplace(channel_id, window_from(window));
    }
    return state;
  } catch (const json::exception&) {
    return std::nullopt;
  }
}

}  // namespace logger::app
