#include "logger/notify/outgoing_text.hpp"

#include <algorithm>
#include <cctype>
#include <cstdio>
#include <nlohmann/json.hpp>

#include "analysis/alerts/alert_rules.hpp"
#include "analysis/base/shown_hours.hpp"
#include "logger/notify/alert_json.hpp"
#include "logger/store/json_line.hpp"

namespace logger::notify {
namespace {

using nlohmann::json;
using store::Delivery;
using store::text_in;

constexpr const char* kHeld = "held";
constexpr std::chrono::hours kWorthSaying{1};  // of waiting; our assumption
constexpr std::size_t kLineLength = 78;
constexpr std::size_t kSubjectLength = 70;  // more than a phone shows

struct RulePhrase {
  std::string_view rule;
  std::string_view fired;
  std::string_view cleared;
};
constexpr RulePhrase kPhrases[] = {
    {"out_of_band", "air out of band", "air back in band"},
    {"dwell_reset", "hours began again", "hours count again"},
    {"probe_silent", "box is silent", "box is heard again"},
    {"ready", "the crew can go", ""},
    {"no_longer_ready", "no longer ready", ""},
    {"sensor_fault", "sensor gives no values", "sensor is back"},
    {"lid_open", "box was opened", "box is closed"},
    {"tilted", "box was moved", "box stands level"},
    {"supply_low", "box battery low", "box supply good"},
    {"self_test_failed", "box self-test fails", "box self-test passes"},
    {"out_of_band_soon", "air soon out of band", "air stays in band"},
    {"dwell_done", "hours are complete", "hours no longer complete"},
    {"stack_lagging", "stack lags behind", "stack has come to the room"},
    {"condensation_risk", "water may condense", "no condensation"},
    {"slab_rising", "slab gets wetter", "slab no longer gets wetter"},
    {"slab_done", "slab is dry enough", "slab no longer dry enough"},
    {"calibration_expiring", "calibration expires", "calibration good"},
    {"disk_low", "logger's disk fills up", "logger's disk has room"},
    {"clock_unsure", "clock is unsure", "clock is in order"},
    {"service_climate", "air outside the climate to keep", "air in the climate to keep"}};

json parsed(const Delivery& delivery) {
  json object = json::parse(delivery.payload_json, nullptr, false);
  return object.is_object() ? object : json::object();
}

bool is_simulated(const json& payload) {
  return payload.contains("simulated") && payload["simulated"] == true;
}

// Cut between two characters of UTF-8.
std::string shortened(std::string text, std::size_t length) {
  if (text.size() <= length) {
    return text;
  }
  length -= 3;
  while (length > 0 && (static_cast<unsigned char>(text[length]) & 0xC0U) == 0x80U) {
    --length;
  }
  return text.substr(0, length) + "...";
}

std::size_t characters_in(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char byte) {
    return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U;
  }));
}

// Lines broken at blanks; a longer word stays whole.
std::string folded(const std::string& text) {
  std::string out;
  std::size_t column = 0;
  std::size_t at = 0;
  while (at < text.size()) {
    if (text[at] == '\n') {
      out += '\n';
      column = 0;
      ++at;
      continue;
    }
    const std::size_t end = std::min(text.find_first_of(" \n", at), text.size());
    const std::string word = text.substr(at, end - at);
    const std::size_t width = characters_in(word);
    if (column > 0 && column + 1 + width > kLineLength) {
      out += '\n';
      column = 0;
    }
    out += (column > 0 ? " " : "") + word;
    column += (column > 0 ? 1 : 0) + width;
    at = end < text.size() && text[end] == ' ' ? end + 1 : end;
  }
  return out;
}

std::string escaped(const std::string& text) {
  std::string out;
  for (const char byte : text) {
    switch (byte) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '\n':
        out += "<br>";
        break;
      default:
        out += byte;
    }
  }
  return out;
}

std::string upper(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char byte) { return static_cast<char>(std::toupper(byte)); });
  return text;
}

bool rests_once_laid(std::string_view rule) {
  const auto kind = analysis::alerts::rule_from_name(rule);
  return kind && std::ranges::find(analysis::alerts::kRulesOfDwell, *kind) !=
                     std::end(analysis::alerts::kRulesOfDwell);
}

std::string phrase_of(const json& payload) {
  const std::string rule = text_in(payload, "rule");
  const auto found = std::find_if(std::begin(kPhrases), std::end(kPhrases),
                                  [&](const RulePhrase& phrase) { return phrase.rule == rule; });
  if (found == std::end(kPhrases)) {
    return rule;
  }
  const bool cleared = text_in(payload, "transition") == "cleared";
  if (cleared && text_in(payload, "verdict") == kLaidVerdict && rests_once_laid(rule)) {
    return std::string(found->fired) + ": ended, it is laid";
  }
  return std::string(cleared ? found->cleared : found->fired);
}

std::string occasion_of(const Delivery& delivery) {
  if (delivery.kind == "reminder") {
    return "REMINDER " + std::to_string(delivery.number) + ", ";
  }
  return delivery.kind == "escalation" ? "NOBODY ANSWERED, " : "";
}

// "Living room: NOT READY, air out of band".
std::string subject_of(const Delivery& delivery, const json& payload) {
  const std::string room = text_in(payload, "room");
  const std::string place = room.empty() ? text_in(payload, "job") : room;
  const std::string verdict = upper(text_in(payload, "verdict"));
  return (is_simulated(payload) ? "SIMULATED " : "") + place + ": " +
         (verdict.empty() ? "" : verdict + ", ") + occasion_of(delivery) + phrase_of(payload);
}

std::string text_of_alert(const Delivery& delivery, const json& payload) {
  std::string text;
  if (delivery.kind == "reminder") {
    text = "REMINDER " + std::to_string(delivery.number) + ", nobody has acknowledged it yet:\n";
  } else if (delivery.kind == "escalation") {
    text = "Nobody has acknowledged it, so that it comes to you:\n";
  }
  return text + text_in(payload, "text") + "\n" + text_in(payload, "job") + ", " +
         analysis::base::minute_text_from_utc(delivery.at) + ", alert " + delivery.alert_key;
}

std::string waiting_of(const Delivery& delivery, std::optional<UtcMicros> now) {
  return now && *now - delivery.due_at > kWorthSaying
             ? " (waited since " + analysis::base::minute_text_from_utc(delivery.due_at) + ")"
             : "";
}

std::string hours_text(const json& room, const char* key, double (*shown)(double)) {
  const double value = room.contains(key) && room[key].is_number() ? room[key].get<double>() : 0.0;
  char text[32];
  std::snprintf(text, sizeof text, "%.1f h", shown(value));
  return text;
}

// "LAID", or "BEING LAID (NOT READY)", or the verdict.
std::string state_of(const json& room) {
  const std::string laying = upper(text_in(room, "laying"));
  const std::string verdict = upper(text_in(room, "verdict"));
  if (laying.empty()) {
    return verdict;
  }
  return text_in(room, "service").empty() ? laying + " (" + verdict + ")" : laying;
}

std::string text_of_digest(const json& payload) {
  std::string text = is_simulated(payload) ? "SIMULATED SITE\n" : "";
  for (const json& room : payload.value("rooms", json::array())) {
    const std::string service = text_in(room, "service");
    text += text_in(room, "name") + ": " + state_of(room);
    if (!service.empty()) {
      text += ", its air: " + service + "\n";
      continue;
    }
    text += ", " + hours_text(room, "dwell_done_hours", analysis::base::shown_hours_done) +
            " in band done, " +
            hours_text(room, "dwell_left_hours", analysis::base::shown_hours_left) + " to go\n";
  }
  const json alerts = payload.value("alerts", json::array());
  text += alerts.empty() ? "No alert fires.\n" : "Alerts that fire:\n";
  for (const json& alert : alerts) {
    text += "- " + text_in(alert, "text") +
            (alert.value("acknowledged", false) ? " (acknowledged)" : "") + "\n";
  }
  return text + text_in(payload, "job");
}

std::string subject_of_digest(const json& payload) {
  std::string verdicts;
  for (const json& room : payload.value("rooms", json::array())) {
    verdicts += (verdicts.empty() ? "" : "; ") + text_in(room, "name") + ": " + state_of(room);
  }
  return (is_simulated(payload) ? "SIMULATED " : "") + verdicts + " (daily)";
}

}  // namespace

Outgoing outgoing_from(const std::vector<Delivery>& deliveries, std::optional<UtcMicros> now) {
  const Delivery& first = deliveries.front();
  Outgoing message;
  message.kind = first.kind == "fired" || first.kind == "cleared" ? "transition" : first.kind;
  message.at = first.kind == "reminder" || first.kind == "escalation" ? first.due_at : first.at;
  json payloads = json::array();
  std::string text;
  for (const Delivery& delivery : deliveries) {
    const json payload = parsed(delivery);
    const bool digest = delivery.kind == "digest";
    message.id += (message.id.empty() ? "" : "+") + std::to_string(delivery.id);
    text += (text.empty() ? "" : "\n\n") +
            (digest ? text_of_digest(payload) : text_of_alert(delivery, payload)) +
            waiting_of(delivery, now);
    if (message.subject.empty()) {
      message.subject = digest ? subject_of_digest(payload) : subject_of(delivery, payload);
    }
    payloads.push_back(payload);
  }
  // Stores of two jobs count alike, their first messages hardly come at the same microsecond.
  message.id += "." + std::to_string(first.due_at.value) + "." + first.recipient;
  message.json = first.payload_json;
  if (deliveries.size() > 1) {
    message.kind = kHeld;
    const std::string more = " (+" + std::to_string(deliveries.size() - 1) + " more)";
    message.subject = shortened(message.subject, kSubjectLength - more.size()) + more;
    message.json = store::json_line({{"format", "dwellog-digest/1"},
                                     {"kind", kHeld},
                                     {"job", text_in(payloads[0], "job")},
                                     {"simulated", is_simulated(payloads[0])},
                                     {"messages", payloads}});
  }
  message.subject = shortened(message.subject, kSubjectLength);
  message.text = folded(text) + "\n";
  message.html = "<!DOCTYPE html><html><body><p>" + escaped(text) + "</p></body></html>";
  return message;
}

std::string json_from_digest(const Digest& digest) {
  json rooms = json::array();
  for (const DigestRoom& room : digest.rooms) {
    json& row = rooms.emplace_back(json{{"id", room.id},
                                        {"name", room.name},
                                        {"verdict", room.verdict},
                                        {"dwell_done_hours", room.dwell_done_hours},
                                        {"dwell_left_hours", room.dwell_left_hours}});
    if (!room.laying.empty()) {
      row["laying"] = room.laying;
    }
    if (!room.service.empty()) {
      row["service"] = room.service;
    }
  }
  json alerts = json::array();
  for (const DigestAlert& alert : digest.alerts) {
    alerts.push_back(
        {{"key", alert.key}, {"text", alert.text}, {"acknowledged", alert.acknowledged}});
  }
  return store::json_line({{"format", "dwellog-digest/1"},
                           {"job", digest.job_name},
                           {"simulated", digest.simulated},
                           {"at_utc", analysis::base::rfc3339_from_utc(digest.at)},
                           {"rooms", rooms},
                           {"alerts", alerts}});
}

}  // namespace logger::notify
