#include "logger/app/room/account_json.hpp"

#include <nlohmann/json.hpp>

#include "logger/app/room/json_values.hpp"
#include "logger/app/room/stack_state_json.hpp"

// visit() is found by the namespace of its argument, which an unnamed namespace would hide.
namespace analysis::readiness {

template <class Member>
static void visit(AirExtremes& e, Member member) {
  member("temperature_min_celsius", e.temperature_min);
  member("temperature_max_celsius", e.temperature_max);
  member("rh_min_fraction", e.rh_min);
  member("rh_max_fraction", e.rh_max);
}

template <class Member>
static void visit(RecentAir& r, Member member) {
  member("parts", r.parts);
  member("newest", r.newest);
}

}  // namespace analysis::readiness

namespace logger::app {

using analysis::base::SeriesPoint;
using analysis::base::UtcMicros;
using analysis::readiness::ChannelWindow;
using analysis::readiness::DwellSample;
using analysis::readiness::DwellState;
using json_values::json_from;
using json_values::read;
using nlohmann::json;

namespace {

constexpr int kVersion = 4;

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
  visit("recent", state.recent);
  visit("counting", state.counting);
  visit("rejected", state.rejected);
  visit("resets", state.resets);
}

json json_from_point(const SeriesPoint& point) {
  return json::array({point.at.value, point.value});
}

SeriesPoint point_from(const json& pair) {
  return {UtcMicros{pair.at(0).get<std::int64_t>()}, pair.at(1).get<double>()};
}

json json_from_window(const ChannelWindow& window) {
  json points = json::array();
  for (const SeriesPoint& point : window.points) {
    points.push_back(json_from_point(point));
  }
  return json{{"points_utc_us_value", points},
              {"last_seen_at_utc_us", json_from(window.last_seen_at)},
              {"last_status", static_cast<int>(window.last_status)},
              {"last_quality", static_cast<int>(window.last_quality)},
              {"last_good", window.last_good ? json_from_point(*window.last_good) : json(nullptr)}};
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
  visit_members(state.memory.dwell,
                [&](const char* name, const auto& member) { dwell[name] = json_from(member); });
  if (state.memory.dwell.previous) {
    dwell["previous"] = {
        {"at_utc_us", json_from(state.memory.dwell.previous->at)},
        {"temperature_celsius", json_from(state.memory.dwell.previous->temperature)},
        {"rh_fraction", json_from(state.memory.dwell.previous->rh)}};
  }
  json through = json::object();
  for (const auto& [box_id, id] : state.through) {
    through[box_id] = {id.boot, id.sequence};
  }
  json windows = json::object();
  for (const auto& [channel_id, window] : state.memory.windows) {
    windows[channel_id] = json_from_window(window);
  }
  return json{{"version", kVersion},
              {"dwell", dwell},
              {"through_boot_sequence", through},
              {"windows", windows},
              {"stack", state.memory.stack ? json_from_stack_state(*state.memory.stack) : json()}}
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
    visit_members(state.memory.dwell,
                  [&](const char* name, auto& member) { read(dwell.at(name), member); });
    if (dwell.contains("previous")) {
      DwellSample& previous = state.memory.dwell.previous.emplace();
      read(dwell["previous"].at("at_utc_us"), previous.at);
      read(dwell["previous"].at("temperature_celsius"), previous.temperature);
      read(dwell["previous"].at("rh_fraction"), previous.rh);
    }
    for (const auto& [box_id, id] : tree.at("through_boot_sequence").items()) {
      state.through[box_id] = {id.at(0).get<std::uint32_t>(), id.at(1).get<std::int64_t>()};
    }
    for (const auto& [channel_id, window] : tree.at("windows").items()) {
      state.memory.windows.emplace(channel_id, window_from(window));
    }
    if (!tree.at("stack").is_null()) {
      state.memory.stack = stack_state_from_json(tree.at("stack"));
    }
    return state;
  } catch (const json::exception&) {
    return std::nullopt;
  }
}

}  // namespace logger::app
