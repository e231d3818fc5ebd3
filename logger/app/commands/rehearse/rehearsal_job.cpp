#include "logger/app/commands/rehearse/rehearsal_job.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

namespace logger::app {

using nlohmann::ordered_json;

namespace {

// What a simulated box measures, by the index of its channel.
constexpr std::array<std::string_view, 6> kSimulatedRoles{
    "room_air_temperature",     "room_air_rh", "stack_core_temperature",
    "slab_surface_temperature", "slab_rh",     "supply_voltage"};
constexpr std::uint64_t kFirstStandInSerial = 900'001;

// Boxes on one line of the job share a simulated line; each stand-in has one of its own.
class Lines {
 public:
  explicit Lines(std::string port) : port_(std::move(port)) {}
  std::string port_of(const std::string& line) {
    const auto [found, added] = ports_.try_emplace(line, "");
    if (added) {
      found->second = ports_.size() == 1 ? port_ : port_ + "." + std::to_string(ports_.size());
    }
    return found->second;
  }

 private:
  std::string port_;
  std::map<std::string, std::string> ports_;
};

std::string text_at(const ordered_json& object, const char* key) {
  return object.contains(key) ? object.at(key).get<std::string>() : "";
}

// The channels a simulated box has, each once; what it has not is named in `left_out`.
ordered_json simulated_channels(const ordered_json& box, std::vector<std::string>& left_out) {
  ordered_json channels = ordered_json::array();
  std::set<std::size_t> taken;
  for (ordered_json channel : box.at("channels")) {
    const std::string role = channel.at("role");
    const auto* simulated = std::find(kSimulatedRoles.begin(), kSimulatedRoles.end(), role);
    const auto index = static_cast<std::size_t>(simulated - kSimulatedRoles.begin());
    if (simulated == kSimulatedRoles.end() || !taken.insert(index).second) {
      left_out.push_back("Channel " + text_at(channel, "id") + " (" + role +
                         ") is not simulated, and so left out.");
      continue;
    }
    channel["index"] = index;
    for (const char* key : {"register", "csv_column", "csv_unit", "units_per_count"}) {
      channel.erase(key);
    }
    channels.push_back(std::move(channel));
  }
  return channels;
}

// What tells a box that is not a probe box: how it is read is not rehearsed.
std::string stand_in_text(const ordered_json& box) {
  const std::string id = text_at(box, "id");
  return box.contains("csv") ? "Box " + id +
                                   " is filled by imports; a simulated probe box stands "
                                   "in for it, so late files are not rehearsed."
                             : "Box " + id +
                                   " is read by registers; a simulated probe box stands "
                                   "in for it, so its registers are not rehearsed.";
}

ordered_json simulated_box(const ordered_json& box, Lines& lines, std::uint64_t stand_in,
                           RehearsalJob& rehearsal) {
  const bool is_probe_box = box.contains("serial");
  ordered_json simulated = {{"id", box.at("id")}};
  const int unit = is_probe_box ? box.value("unit", 1) : 1;
  const std::uint64_t serial = is_probe_box ? box.at("serial").get<std::uint64_t>() : stand_in;
  const std::string line =
      text_at(box, "host").empty()
          ? text_at(box, "port")
          : text_at(box, "host") + " " + box.value("tcp_port", ordered_json(502)).dump();
  const std::string port = lines.port_of(is_probe_box ? line : "stand-in " + text_at(box, "id"));
  simulated.update({{"serial", serial}, {"port", port}, {"unit", unit}});
  if (box.contains("sample_interval_seconds")) {
    simulated["sample_interval_seconds"] = box.at("sample_interval_seconds");
  }
  if (!is_probe_box) {
    rehearsal.left_out.push_back(stand_in_text(box));
  }
  simulated["channels"] = simulated_channels(box, rehearsal.left_out);
  if (!simulated["channels"].empty()) {
    rehearsal.boxes.push_back(std::to_string(unit) + ":" + std::to_string(serial) + ":" + port);
  }
  return simulated;
}

// A program that takes everything and does nothing: the deliveries stand in the store.
void silence(ordered_json& job) {
  const ordered_json nothing = ordered_json::array({"true"});
  for (const char* key : {"page", "status_pushes", "checkpoints"}) {
    job.erase(key);
  }
  if (!job.contains("alerts")) {
    return;
  }
  ordered_json& alerts = job["alerts"];
  alerts.erase("mail_server");
  alerts.erase("mqtt_server");
  if (alerts.contains("command") && !alerts["command"].empty()) {
    alerts["command"] = nothing;
  }
  if (!alerts.contains("recipients")) {
    return;
  }
  for (ordered_json& recipient : alerts["recipients"]) {
    ordered_json silent = {{"id", recipient.at("id")}, {"command", nothing}};
    if (recipient.contains("quiet_hours")) {
      silent["quiet_hours"] = recipient.at("quiet_hours");
    }
    recipient = std::move(silent);
  }
}

}  // namespace

store::Result<RehearsalJob> rehearsal_job_from(std::string_view job_text, const std::string& port) {
  ordered_json job = ordered_json::parse(job_text, nullptr, false, true);
  if (!job.is_object() || !job.contains("boxes")) {
    return store::failure(store::ErrorCode::invalid_input, "job.json has no boxes to rehearse");
  }
  RehearsalJob rehearsal;
  Lines lines(port);
  ordered_json boxes = ordered_json::array();
  for (const ordered_json& box : job.at("boxes")) {
    ordered_json simulated =
        simulated_box(box, lines, kFirstStandInSerial + boxes.size(), rehearsal);
    if (!simulated["channels"].empty()) {
      boxes.push_back(std::move(simulated));
    }
  }
  if (boxes.empty()) {
    return store::failure(store::ErrorCode::unsupported,
                          "job.json has no channel that can be simulated");
  }
  job["boxes"] = std::move(boxes);
  silence(job);
  rehearsal.text = job.dump(2) + "\n";
  return rehearsal;
}

}  // namespace logger::app
