#include "logger/web/api/metrics_text.hpp"

#include <initializer_list>
#include <nlohmann/json.hpp>
#include <string_view>
#include <utility>

#include "logger/store/json_line.hpp"

namespace logger::web {

using nlohmann::ordered_json;
using store::text_in;

namespace {

using Labels = std::initializer_list<std::pair<std::string_view, std::string>>;

constexpr std::string_view kVerdicts[] = {"ready", "not ready", "cannot tell"};
constexpr std::string_view kValuePrefix = "value_";

// A backslash, a quote and a line end are the only ones that the format escapes.
std::string escaped(const std::string& text) {
  std::string out;
  for (const char c : text) {
    out += c == '\\' ? "\\\\" : c == '"' ? "\\\"" : c == '\n' ? "\\n" : std::string(1, c);
  }
  return out;
}

// All values of one name stand together, below its help and type, as the format asks.
class Family {
 public:
  Family(std::string_view name, std::string_view help, std::string_view type = "gauge")
      : name_("dwellog_" + std::string(name)),
        head_("# HELP " + name_ + ' ' + std::string(help) + "\n# TYPE " + name_ + ' ' +
              std::string(type) + '\n') {}

  // Nothing for what is not known.
  void add(Labels labels, const ordered_json& value) {
    if (!value.is_number()) {
      return;
    }
    std::string shown;
    for (const auto& [name, text] : labels) {
      shown += (shown.empty() ? "{" : ",") + std::string(name) + "=\"" + escaped(text) + '"';
    }
    lines_ += name_ + shown + (shown.empty() ? " " : "} ") + value.dump() + '\n';
  }
  void add_age(Labels labels, const ordered_json& since, UtcMicros at) {
    const auto then = since.is_string() ? analysis::base::utc_from_rfc3339(since.get<std::string>())
                                        : std::nullopt;
    if (then) {
      add(labels, static_cast<double>((at - *then).count()) * 1e-6);
    }
  }
  [[nodiscard]] std::string text() const { return lines_.empty() ? lines_ : head_ + lines_; }

 private:
  std::string name_;
  std::string head_;
  std::string lines_;
};

std::string rooms_text(const ordered_json& status) {
  Family verdict("room_verdict", "1 for the verdict of the room, 0 for the others.");
  Family done("room_dwell_done_hours", "Hours in the band that count.");
  Family left("room_dwell_left_hours", "Hours in the band that are still missing.");
  Family required("room_dwell_required_hours", "Hours in the band that the floor asks for.");
  Family open("room_gates_open", "Gates that are not met or not known.");
  for (const ordered_json& room : status["rooms"]) {
    const std::string id = text_in(room, "id");
    for (const std::string_view word : kVerdicts) {
      verdict.add({{"room", id}, {"verdict", std::string(word)}},
                  text_in(room, "verdict") == word ? 1 : 0);
    }
    done.add({{"room", id}}, room["dwell_done_hours"]);
    left.add({{"room", id}}, room["dwell_left_hours"]);
    required.add({{"room", id}}, room["dwell_required_hours"]);
    int not_met = 0;
    for (const ordered_json& gate : room["gates"]) {
      not_met += text_in(gate, "state") == "met" ? 0 : 1;
    }
    open.add({{"room", id}}, not_met);
  }
  return verdict.text() + done.text() + left.text() + required.text() + open.text();
}

std::string channels_text(const ordered_json& status, UtcMicros at) {
  Family values[] = {{"channel_celsius", "Newest good value of a channel, degrees Celsius."},
                     {"channel_percent_rh", "Newest good value of a channel, percent RH."},
                     {"channel_volt", "Newest good value of a channel, volts."}};
  constexpr std::string_view kUnits[] = {"celsius", "percent_rh", "volt"};
  Family age("channel_value_age_seconds", "Age of the newest good value of a channel.");
  Family good("channel_good", "1 while the newest sample of a channel is good.");
  for (const ordered_json& room : status["rooms"]) {
    const std::string room_id = text_in(room, "id");
    for (const ordered_json& channel : room["channels"]) {
      const std::string id = text_in(channel, "id");
      for (std::size_t unit = 0; unit < std::size(kUnits); ++unit) {
        const auto value = channel.find(std::string(kValuePrefix) + std::string(kUnits[unit]));
        if (value != channel.end()) {
          values[unit].add({{"room", room_id}, {"channel", id}, {"role", text_in(channel, "role")}},
                           *value);
        }
      }
      age.add_age({{"room", room_id}, {"channel", id}}, channel["value_at_utc"], at);
      good.add({{"room", room_id}, {"channel", id}},
               text_in(channel, "last_quality") == "good" ? 1 : 0);
    }
  }
  return values[0].text() + values[1].text() + values[2].text() + age.text() + good.text();
}

std::string alerts_text(const ordered_json& status) {
  Family firing("alert_firing", "1 for each alert that fires.");
  Family acknowledged("alert_acknowledged", "1 for each firing alert that somebody acknowledged.");
  for (const ordered_json& alert : status["alerts"]) {
    if (text_in(alert, "phase") == "firing") {
      const std::string rule = text_in(alert, "rule");
      const std::string subject = text_in(alert, "subject");
      firing.add({{"rule", rule}, {"subject", subject}}, 1);
      acknowledged.add({{"rule", rule}, {"subject", subject}},
                       alert["acknowledged_at_utc"].is_null() ? 0 : 1);
    }
  }
  return firing.text() + acknowledged.text();
}

std::string logger_text(const ordered_json& status, const MachineFigures& figures) {
  Family link("box_link_up", "1 while the box answers.");
  for (const ordered_json& box : status["boxes"]) {
    if (box["link_up"].is_boolean()) {
      link.add({{"box", text_in(box, "id")}}, box["link_up"].get<bool>() ? 1 : 0);
    }
  }
  std::string text = link.text();
  const auto single = [&text](std::string_view name, std::string_view help,
                              const ordered_json& value, std::string_view type = "gauge") {
    Family family(name, help, type);
    family.add({}, value);
    text += family.text();
  };
  Family seen("logger_written_age_seconds", "Time since the logger last wrote.");
  seen.add_age({}, status["logger_seen_at_utc"], figures.at);
  text += seen.text();
  single("undelivered_messages", "Messages that wait for delivery.",
         status["undelivered_messages"]);
  single("lost_records_total", "Records that were lost for ever.", status["lost_records"],
         "counter");
  single("undated_records", "Records without a date.", status["undated_records"]);
  single("disk_free_bytes", "Free on the disk of the job folder.", figures.disk_free_bytes);
  single("store_bytes", "Size of the store's file.", figures.store_bytes);
  single("simulated", "1 for a simulated site.", status["simulated"].get<bool>() ? 1 : 0);
  return text;
}

}  // namespace

std::string metrics_text_from(const ordered_json& status, const MachineFigures& figures) {
  return rooms_text(status) + channels_text(status, figures.at) + alerts_text(status) +
         logger_text(status, figures);
}

}  // namespace logger::web
