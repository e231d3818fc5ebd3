#include <algorithm>
#include <array>
#include <initializer_list>
#include <map>

#include "logger/app/job/reader/job_parts.hpp"
#include "logger/app/job/reader/keys/key_check.hpp"
#include "logger/app/job/reader/unique_values.hpp"

namespace logger::app {
namespace {

using analysis::base::ChannelRole;
using analysis::base::hours_from;

constexpr std::array kBaudRates = {1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400};

// Channels that belong to a box or the site rather than to one room.
bool needs_room(ChannelRole role) {
  return role != ChannelRole::supply_voltage && role != ChannelRole::outdoor_temperature &&
         role != ChannelRole::outdoor_rh;
}

class BoxCheck {
 public:
  BoxCheck(const Job& job, const ObjectView& root, Findings& findings)
      : job_(job),
        root_(root),
        findings_(findings),
        box_ids_(findings, "box id"),
        channel_ids_(findings, "channel id"),
        serials_(findings, "serial"),
        lines_(findings, "port and unit") {}

  void check_box(std::size_t index);

 private:
  void check_line(const JobBox& box, const ObjectView& view, const std::string& path);
  void check_adapter(const JobBox& box, const ObjectView& view, const std::string& path);
  void check_serial_line(const JobBox& box, const ObjectView& view, const std::string& path);
  void check_place_on_line(const JobBox& box, const ObjectView& view, const std::string& path,
                           std::string_view key);
  void check_imported_box(const ObjectView& view, const std::string& path);
  void check_channel(const JobBox& box, std::size_t index, const ObjectView& view,
                     const std::string& path);
  void check_channel_room(const JobChannel& channel, const ObjectView& view,
                          const std::string& path);
  void check_plausible_range(const JobChannel& channel, const ObjectView& view,
                             const std::string& path);
  void check_accuracy(const JobChannel& channel, const ObjectView& view, const std::string& path);
  void check_csv_channel(const JobBox& box, const JobChannel& channel, const ObjectView& view,
                         const std::string& path);
  void check_interval(const JobBox& box, const JobChannel& channel, const ObjectView& box_view,
                      const std::string& box_path);
  void refuse_keys(const ObjectView& view, const std::string& path,
                   std::initializer_list<std::string_view> keys, const std::string& why);
  void require_key(const ObjectView& view, const std::string& path, std::string_view key,
                   const std::string& why);

  const Job& job_;
  const ObjectView& root_;
  Findings& findings_;
  UniqueValues box_ids_;
  UniqueValues channel_ids_;
  UniqueValues serials_;
  UniqueValues lines_;
  std::map<std::string, ingest::SerialSettings> settings_of_port_;
};

void BoxCheck::refuse_keys(const ObjectView& view, const std::string& path,
                           std::initializer_list<std::string_view> keys, const std::string& why) {
  for (const std::string_view key : keys) {
    if (view.has(key)) {
      findings_.add_error(view.line_of(key), key_path(path, key), why);
    }
  }
}

void BoxCheck::require_key(const ObjectView& view, const std::string& path, std::string_view key,
                           const std::string& why) {
  if (!view.has(key) || view.text(key) == "") {
    findings_.add_error(view.line_of(key), key_path(path, key), why);
  }
}

void BoxCheck::check_box(std::size_t index) {
  const JobBox& box = job_.boxes[index];
  const ObjectView view(&root_.items("boxes")[index]);
  const std::string path = item_path("boxes", index);
  if (const auto id = view.text("id")) {
    box_ids_.add(*id, view.line_of("id"), key_path(path, "id"));
  }
  if (box.csv) {
    check_imported_box(view, path);
  } else {
    check_line(box, view, path);
  }
  if (box.registers) {
    check_registers(box, view, path, findings_);
  }
  UniqueValues indices(findings_, "index");
  const std::vector<JsonNode>& channels = view.items("channels");
  for (std::size_t i = 0; i < channels.size(); ++i) {
    const ObjectView channel(&channels[i]);
    const std::string channel_path = item_path(key_path(path, "channels"), i);
    if (const auto number = channel.whole_number("index")) {
      indices.add(std::to_string(*number), channel.line_of("index"),
                  key_path(channel_path, "index"));
    }
    check_channel(box, i, channel, channel_path);
    check_interval(box, box.channels[i], view, path);
  }
}

// A box on a serial line: who it is and where.
void BoxCheck::check_line(const JobBox& box, const ObjectView& view, const std::string& path) {
  if (box.registers) {
    refuse_keys(
        view, path, {"serial"},
        "a transmitter with \"registers\" tells no serial number of a probe box; leave this "
        "out, and name an \"identity\" register where its papers have one");
  } else {
    require_key(
        view, path, "serial",
        "required key is missing: the number printed on the box (or \"registers\": {} for a "
        "transmitter that is no probe box)");
  }
  if (const auto serial = view.whole_number("serial")) {
    serials_.add(std::to_string(*serial), view.line_of("serial"), key_path(path, "serial"));
  }
  if (view.has("host")) {
    check_adapter(box, view, path);
  } else {
    check_serial_line(box, view, path);
  }
}

// An adapter that carries the line over the network.
void BoxCheck::check_adapter(const JobBox& box, const ObjectView& view, const std::string& path) {
  refuse_keys(view, path, {"port", "baud", "parity", "stop_bits"},
              "a box behind \"host\" has no serial device of this machine; leave this out");
  if (!ingest::is_ip_address(box.host)) {
    findings_.add_error(view.line_of("host"), key_path(path, "host"),
                        in_quotes(box.host) +
                            " is no IP address in figures, such as 192.168.1.20; names are not "
                            "looked up, so that a name server can't stop the log");
  }
  check_place_on_line(box, view, path, "host");
}

void BoxCheck::check_place_on_line(const JobBox& box, const ObjectView& view,
                                   const std::string& path, std::string_view key) {
  const bool unit_known = !view.has("unit") || view.whole_number("unit");
  if (unit_known) {
    lines_.add(line_of(box) + " " + std::to_string(box.unit), view.line_of(key),
               key_path(path, key));
  }
}

void BoxCheck::check_serial_line(const JobBox& box, const ObjectView& view,
                                 const std::string& path) {
  require_key(view, path, "port",
              "required key is missing: the serial device, such as /dev/serial/by-id/..., or "
              "\"host\" of an adapter on the network");
  refuse_keys(view, path, {"tcp_port"}, "only a box with \"host\" has one; leave this out");
  if (std::find(kBaudRates.begin(), kBaudRates.end(), box.baud) == kBaudRates.end()) {
    std::string rates;
    for (const int rate : kBaudRates) {
      rates += (rates.empty() ? "" : ", ") + std::to_string(rate);
    }
    findings_.add_error(
        view.line_of("baud"), key_path(path, "baud"),
        std::to_string(box.baud) + " baud is no standard rate; expected one of " + rates);
  }
  if (box.port.empty()) {
    return;
  }
  check_place_on_line(box, view, path, "port");
  const auto [first, is_new] = settings_of_port_.emplace(
      box.port, ingest::SerialSettings{box.port, box.baud, box.parity, box.stop_bits});
  if (!is_new && first->second.baud != box.baud) {
    findings_.add_error(view.line_of("baud"), key_path(path, "baud"),
                        std::to_string(box.baud) + " baud, but another box on " +
                            in_quotes(box.port) + " has " + std::to_string(first->second.baud) +
                            " baud; one line has one rate");
  }
  if (!is_new && (first->second.parity != box.parity || first->second.stop_bits != box.stop_bits)) {
    findings_.add_error(view.line_of("parity"), key_path(path, "parity"),
                        "parity and stop_bits differ from those of another box on " +
                            in_quotes(box.port) + "; one line has one setting");
  }
}

// Conversions a time format may hold, each at most once; the first five must be there.
constexpr std::string_view kTimeConversions = "YmdHMS";

std::string time_format_fault(const std::string& format) {
  std::string seen;
  for (std::size_t i = 0; i < format.size(); ++i) {
    if (format[i] != '%') {
      continue;
    }
    const char conversion = ++i < format.size() ? format[i] : '\0';
    if (kTimeConversions.find(conversion) == std::string_view::npos ||
        seen.find(conversion) != std::string::npos) {
      return "in " + in_quotes(format) + " only %Y %m %d %H %M %S may stand, each once";
    }
    seen += conversion;
  }
  for (const char needed : kTimeConversions.substr(0, 5)) {
    if (seen.find(needed) == std::string::npos) {
      return in_quotes(format) + " lacks %" + std::string(1, needed) +
             "; expected \"rfc3339\" or one such as \"%Y-%m-%d %H:%M:%S\"";
    }
  }
  return {};
}

void BoxCheck::check_imported_box(const ObjectView& view, const std::string& path) {
  refuse_keys(view, path,
              {"serial", "port", "host", "tcp_port", "unit", "baud", "parity", "stop_bits",
               "registers", "sample_interval_seconds"},
              "a box with \"csv\" is filled by import and has no line of its own; leave this out");
  const ObjectView csv = view.object("csv");
  const std::string csv_path = key_path(path, "csv");
  const std::string format = csv.text("time_format").value_or("rfc3339");
  if (csv.present() && format == "rfc3339") {
    refuse_keys(csv, csv_path, {"time_zone"},
                "RFC 3339 times carry their own offset; leave this out");
  } else if (csv.present()) {
    const std::string fault = time_format_fault(format);
    if (!fault.empty()) {
      findings_.add_error(csv.line_of("time_format"), key_path(csv_path, "time_format"), fault);
    }
    const std::string zone = csv.text("time_zone").value_or("");
    if (zone.find_first_of("Z+-") != 0 ||
        !analysis::base::utc_from_rfc3339("2000-01-01T00:00:00" + zone)) {
      findings_.add_error(csv.line_of("time_zone"), key_path(csv_path, "time_zone"),
                          in_quotes(zone) +
                              " is no offset; these times need \"Z\" or one such as "
                              "\"+02:00\"");
    }
  }
  if (csv.text("separator").value_or(",") == csv.text("decimal").value_or(".")) {
    findings_.add_error(csv.line_of("decimal"), key_path(csv_path, "decimal"),
                        "separator and decimal are the same");
  }
}

void BoxCheck::check_channel(const JobBox& box, std::size_t index, const ObjectView& view,
                             const std::string& path) {
  const JobChannel& channel = box.channels[index];
  if (const auto id = view.text("id")) {
    channel_ids_.add(*id, view.line_of("id"), key_path(path, "id"));
  }
  if (!view.text("role")) {
    return;  // the rest depends on it
  }
  check_channel_room(channel, view, path);
  check_plausible_range(channel, view, path);
  check_accuracy(channel, view, path);
  check_csv_channel(box, channel, view, path);
  if (!box.registers) {
    refuse_keys(view, path, {"register"},
                "only a box with \"registers\" is read by register; leave this out");
  }
}

void BoxCheck::check_channel_room(const JobChannel& channel, const ObjectView& view,
                                  const std::string& path) {
  const auto room = view.text("room");
  if (!view.has("room") && needs_room(channel.scale.role)) {
    findings_.add_error(view.line_of("room"), key_path(path, "room"), "required key is missing");
  }
  std::vector<std::string_view> ids;
  for (const JobRoom& known : job_.rooms) {
    ids.push_back(known.id);
  }
  if (!room || std::find(ids.begin(), ids.end(), *room) != ids.end()) {
    return;
  }
  const std::string_view nearest = nearest_of(*room, ids);
  findings_.add_error(view.line_of("room"), key_path(path, "room"),
                      "no room has the id " + in_quotes(*room) +
                          (nearest.empty() ? "" : "; the nearest is " + in_quotes(nearest)));
}

void BoxCheck::check_plausible_range(const JobChannel& channel, const ObjectView& view,
                                     const std::string& path) {
  const std::string unit(analysis::base::file_unit_of(channel.scale.role));
  for (const std::string end : {"low_", "high_"}) {
    for (const std::string other : {"celsius", "percent_rh", "volt"}) {
      if (other != unit) {
        refuse_keys(view, path, {end + other},
                    "a " + std::string(name_of(channel.scale.role)) + " channel is in " + unit +
                        "; expected " + in_quotes(end + unit));
      }
    }
  }
  if (channel.scale.low >= channel.scale.high) {
    const std::string low_key = "low_" + unit;
    findings_.add_error(view.line_of(low_key), key_path(path, low_key),
                        value_text(channel.scale.low, low_key) + " is not below high_" + unit +
                            " " + value_text(channel.scale.high, low_key));
  }
}

void BoxCheck::check_accuracy(const JobChannel& channel, const ObjectView& view,
                              const std::string& path) {
  const ObjectView accuracy = view.object("accuracy");
  if (!accuracy.present()) {
    return;
  }
  const std::string unit = accuracy_unit_of(channel.scale.role);
  const std::string role(name_of(channel.scale.role));
  const std::string accuracy_path = key_path(path, "accuracy");
  if (unit.empty()) {
    findings_.add_error(view.line_of("accuracy"), accuracy_path,
                        "no decision rests on a " + role + " channel; leave this out");
    return;
  }
  const std::string other = unit == "kelvin" ? "percent_rh" : "kelvin";
  for (const std::string stem : {"limits_", "drift_per_year_", "placement_"}) {
    refuse_keys(accuracy, accuracy_path, {stem + other},
                "the accuracy of a " + role + " channel is in " + unit + "; expected " +
                    in_quotes(stem + unit));
  }
  if (!accuracy.has("limits_" + unit)) {
    findings_.add_error(accuracy.line_of("limits_" + unit),
                        key_path(accuracy_path, "limits_" + unit),
                        "required key is missing: +- limits, from the sensor's paper");
  }
}

void BoxCheck::check_csv_channel(const JobBox& box, const JobChannel& channel,
                                 const ObjectView& view, const std::string& path) {
  if (!box.csv) {
    refuse_keys(view, path, {"csv_column", "csv_unit"},
                "only a box with \"csv\" has columns; leave this out");
    return;
  }
  require_key(view, path, "csv_column", "required key is missing: the column's heading");
  require_key(view, path, "csv_unit", "required key is missing: the column's unit");
  const std::string_view unit = analysis::base::file_unit_of(channel.scale.role);
  const std::string other = unit == "celsius"      ? "fahrenheit"
                            : unit == "percent_rh" ? "rh_fraction"
                                                   : "";
  const auto csv_unit = view.text("csv_unit");
  if (csv_unit && *csv_unit != unit && *csv_unit != other) {
    findings_.add_error(view.line_of("csv_unit"), key_path(path, "csv_unit"),
                        in_quotes(*csv_unit) + " does not fit a " +
                            std::string(name_of(channel.scale.role)) + " channel; expected " +
                            in_quotes(unit) + (other.empty() ? "" : " or " + in_quotes(other)));
  }
}

// Readings further apart than the room's longest interval would all count as unknown time.
void BoxCheck::check_interval(const JobBox& box, const JobChannel& channel,
                              const ObjectView& box_view, const std::string& box_path) {
  const auto room = std::find_if(job_.rooms.begin(), job_.rooms.end(), [&](const JobRoom& r) {
    return !r.id.empty() && r.id == channel.room_id;
  });
  if (box.csv || room == job_.rooms.end() ||
      channel.scale.role != ChannelRole::room_air_temperature) {
    return;
  }
  const double longest_minutes = hours_from(room->requirements.longest_interval.value) * 60;
  if (box.sample_interval_s > longest_minutes * 60) {
    findings_.add_error(
        box_view.line_of("sample_interval_seconds"), key_path(box_path, "sample_interval_seconds"),
        std::to_string(box.sample_interval_s) +
            " s is longer than longest_interval_minutes of room " + in_quotes(room->id) + " (" +
            value_text(longest_minutes, "longest_interval_minutes") +
            "), so all time would count as unknown");
  }
}

}  // namespace

void check_boxes(const Job& job, const ObjectView& root, Findings& findings) {
  BoxCheck check(job, root, findings);
  for (std::size_t i = 0; i < job.boxes.size(); ++i) {
    check.check_box(i);
  }
}

}  // namespace logger::app
