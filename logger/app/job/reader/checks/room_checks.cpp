#include <algorithm>
#include <map>

#include "analysis/base/day_end.hpp"
#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"
#include "logger/app/job/reader/unique_values.hpp"

namespace logger::app {
namespace {

using analysis::base::ChannelRole;
using analysis::base::hours_from;

void check_crossing(Findings& findings, const ObjectView& view, const std::string& path,
                    const std::string& low_key, const std::string& high_key) {
  const auto low = view.number(low_key);
  const auto high = view.number(high_key);
  if (low && high && *low >= *high) {
    findings.add_error(view.line_of(low_key), key_path(path, low_key),
                       value_text(*low, low_key) + " is not below " + high_key + " " +
                           value_text(*high, high_key));
  }
}

void check_requirements(const ObjectView& requirements, const std::string& path,
                        Findings& findings) {
  check_crossing(findings, requirements.object("temperature"), key_path(path, "temperature"),
                 "low_celsius", "high_celsius");
  check_crossing(findings, requirements.object("rh"), key_path(path, "rh"), "low_percent_rh",
                 "high_percent_rh");
  UniqueValues gates(findings, "site gate");
  const std::string gates_path = key_path(path, "site_gates");
  const std::vector<JsonNode>& items = requirements.items("site_gates");
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (!items[i].refused) {
      gates.add(items[i].text, items[i].line, item_path(gates_path, i));
    }
  }
}

// A limit that is left out stands at its default, which the other one may cross.
void check_service(const JobRoom& room, const ObjectView& view, const std::string& path,
                   Findings& findings) {
  const auto check = [&](double low, double high, const std::string& low_key,
                         const std::string& high_key) {
    if (low >= high) {
      const std::string& key = view.has(low_key) ? low_key : high_key;
      findings.add_error(
          view.line_of(key), key_path(path, key),
          "low " + value_text(low, low_key) + " is not below high " + value_text(high, high_key));
    }
  };
  const auto& service = room.service;
  check(service.temperature_low.value(), service.temperature_high.value(),
        "temperature_low_celsius", "temperature_high_celsius");
  check(percent_from_rh(service.rh_low), percent_from_rh(service.rh_high), "rh_low_percent_rh",
        "rh_high_percent_rh");
}

void check_slab_build(const JobRoom& room, const ObjectView& view, const std::string& path,
                      Findings& findings) {
  if (!room.slab_build) {
    return;
  }
  const ObjectView build = view.object("slab_build");
  if (view.object("requirements").is_null("slab")) {
    findings.add_error(view.line_of("slab_build"), key_path(path, "slab_build"),
                       "the requirements say \"slab\": null, so there is no slab to describe");
  }
  if (room.slab_poured_at && room.slab_build->drying_from &&
      *room.slab_build->drying_from < *room.slab_poured_at) {
    findings.add_error(build.line_of("drying_from"), key_path(path, "slab_build.drying_from"),
                       analysis::base::day_or_minute_text(*room.slab_build->drying_from) +
                           " is before the slab was poured, " +
                           analysis::base::day_or_minute_text(*room.slab_poured_at));
  }
  const auto depth = build.number("probe_depth_mm");
  const auto thickness = build.number("thickness_mm");
  if (depth && thickness && *depth >= *thickness) {
    findings.add_error(build.line_of("probe_depth_mm"), key_path(path, "slab_build.probe_depth_mm"),
                       value_text(*depth, "probe_depth_mm") + " is not within the slab of " +
                           value_text(*thickness, "thickness_mm"));
  }
}

// False when a channel's role or room could not be read: what a room has is not known then.
bool channels_are_readable(const ObjectView& root) {
  for (const JsonNode& box : root.items("boxes")) {
    for (const JsonNode& item : ObjectView(&box).items("channels")) {
      const ObjectView channel(&item);
      if (!channel.text("role") || (channel.has("room") && !channel.text("room"))) {
        return false;
      }
    }
  }
  return !root.items("boxes").empty();
}

// RoomReplay needs exactly one box that carries both, once each.
void check_room_air(const Job& job, const JobRoom& room, int line, const std::string& path,
                    Findings& findings) {
  std::map<ChannelRole, std::vector<const JobBox*>> carriers;
  for (const JobBox& box : job.boxes) {
    for (const JobChannel& channel : box.channels) {
      if (channel.room_id == room.id && is_room_air(channel.scale.role)) {
        carriers[channel.scale.role].push_back(&box);
      }
    }
  }
  const auto& temperature = carriers[ChannelRole::room_air_temperature];
  const auto& rh = carriers[ChannelRole::room_air_rh];
  if (temperature.size() != 1 || rh.size() != 1 || temperature.front() != rh.front()) {
    findings.add_error(line, path,
                       "room " + in_quotes(room.id) +
                           " needs one room_air_temperature and one room_air_rh channel on the "
                           "same box; found " +
                           std::to_string(temperature.size()) + " and " +
                           std::to_string(rh.size()) +
                           (temperature.size() == 1 && rh.size() == 1 ? ", on two boxes" : ""));
  }
}

void check_alerts(const Job& job, const ObjectView& root, Findings& findings) {
  const ObjectView alerts = root.object("alerts");
  const std::vector<JsonNode>& command = alerts.items("command");
  if (!command.empty() && !command.front().refused && command.front().text.empty()) {
    findings.add_error(command.front().line, "alerts.command[0]", "names no program");
  }
  const ObjectView silent = alerts.object("rules").object("probe_silent");
  const double fire_after_s = hours_from(job.alerts.settings.probe_silent_fire_after) * 3600;
  if (fire_after_s < 2.0 * job.collect_every_s) {
    const bool is_set = silent.has("fire_after_minutes");
    findings.add_error(
        is_set ? silent.line_of("fire_after_minutes") : root.line_of("collect_every_seconds"),
        is_set ? "alerts.rules.probe_silent.fire_after_minutes" : "collect_every_seconds",
        "probe_silent fires after " + value_text(fire_after_s / 60, "fire_after_minutes") +
            ", which is shorter than two collections of " +
            value_text(job.collect_every_s, "collect_every_seconds") +
            ", so every pause would fire it");
  }
}

}  // namespace

void check_rooms_and_alerts(const Job& job, const ObjectView& root, Findings& findings) {
  UniqueValues ids(findings, "room id");
  for (std::size_t i = 0; i < job.rooms.size(); ++i) {
    const ObjectView view(&root.items("rooms")[i]);
    const std::string path = item_path("rooms", i);
    if (const auto id = view.text("id")) {
      ids.add(*id, view.line_of("id"), key_path(path, "id"));
    }
    check_requirements(view.object("requirements"), key_path(path, "requirements"), findings);
    check_slab_build(job.rooms[i], view, path, findings);
    check_service(job.rooms[i], view.object("service"), key_path(path, "service"), findings);
    check_crossing(findings, view.object("stack"), key_path(path, "stack"),
                   "board_low_share_percent", "board_high_share_percent");
    check_crossing(findings, view.object("movement"), key_path(path, "movement"),
                   "service_low_percent_rh", "service_high_percent_rh");
    if (view.text("id") && channels_are_readable(root)) {
      check_room_air(job, job.rooms[i], view.line_of("id"), path, findings);
    }
  }
  check_alerts(job, root, findings);
}

}  // namespace logger::app
