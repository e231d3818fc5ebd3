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

template <class Member>
static void visit(DwellSample& s, Member member) {
  member("at_utc_us", s.at);
  member("temperature_celsius", s.temperature);
  member("rh_fraction", s.rh);
}

template <class Member>
static void visit(DwellState& s, Member member) {
  member("in_band_seconds", s.in_band_seconds);
  member("excursion_seconds", s.excursion_seconds);
  member("pending_unknown_seconds", s.pending_unknown_seconds);
  member("excursion_sum_seconds", s.excursion_sum_seconds);
  member("unknown_run_seconds", s.unknown_run_seconds);
  member("total_in_seconds", s.total_in_seconds);
  member("total_out_seconds", s.total_out_seconds);
  member("total_unknown_seconds", s.total_unknown_seconds);
  member("done_at_utc_us", s.done_at);
  member("first_at_utc_us", s.first_at);
  member("previous", s.previous);
  member("run_started_at_utc_us", s.run_started_at);
  member("run_temperature_min_celsius", s.run_temperature_min);
  member("run_temperature_max_celsius", s.run_temperature_max);
  member("run_rh_min_fraction", s.run_rh_min);
  member("run_rh_max_fraction", s.run_rh_max);
  member("recent", s.recent);
  member("counting", s.counting);
  member("rejected", s.rejected);
  member("resets", s.resets);
}

}  // namespace analysis::readiness

namespace logger::app {

using analysis::base::SeriesPoint;
using analysis::base::UtcMicros;
using analysis::readiness::ChannelWindow;
using json_values::json_from;
using json_values::read;
using nlohmann::json;

namespace {

constexpr int kVersion = 4;

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
  json through = json::object();
  for (const auto& [box_id, id] : state.through) {
    through[box_id] = {id.boot, id.sequence};
  }
  json windows = json::object();
  for (const auto& [channel_id, window] : state.memory.windows) {
    windows[channel_id] = json_from_window(window);
  }
  return json{{"version", kVersion},
              {"dwell", json_from(state.memory.dwell)},
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
    read(tree.at("dwell"), state.memory.dwell);
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
