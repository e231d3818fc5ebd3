#include "logger/web/page/page_html.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "analysis/base/shown_hours.hpp"
#include "logger/store/json_line.hpp"
#include "logger/web/page/template_text.hpp"

namespace logger::web {
namespace {

using nlohmann::ordered_json;
using store::text_in;

// Documents of ours, yet whatever is absent or of another kind in them is left out, not guessed.
double number_in(const ordered_json& object, const char* key) {
  const auto at = object.find(key);
  return at != object.end() && at->is_number() ? at->get<double>() : 0.0;
}

const ordered_json& part_of(const ordered_json& object, const char* key) {
  static const ordered_json none;
  const auto at = object.find(key);
  return at != object.end() ? *at : none;
}

std::string moment_text(const std::string& rfc3339) {
  const auto at = analysis::base::utc_from_rfc3339(rfc3339);
  return at ? analysis::base::minute_text_from_utc(*at) : std::string();
}

Markup moment_markup(const std::string& rfc3339) {
  const std::string text = moment_text(rfc3339);
  return text.empty() ? shown(english("newest.none"))
                      : Markup{"<time datetime=\"" + shown(rfc3339).text + "\">" +
                               shown(text).text + "</time>"};
}

std::string one_decimal(double value) {
  char text[64];
  std::snprintf(text, sizeof text, "%.1f", value);
  return text;
}

std::string verdict_word(const std::string& verdict) {
  return verdict == "ready"       ? english("verdict.ready")
         : verdict == "not ready" ? english("verdict.not ready")
                                  : english("verdict.cannot tell");
}
// Of a verdict or the state of a gate.
Markup symbol_of(const std::string& state) {
  return {state == "ready" || state == "met"           ? "ready"
          : state == "not ready" || state == "not met" ? "not"
                                                       : "unknown"};
}

std::string gate_name(const std::string& id) {
  const std::string key = "gate." + id;
  return has_english(key) ? english(key) : id;
}

Markup reason_markup(const ordered_json& gate) {
  const std::string state = text_in(gate, "state");
  const std::string action = text_in(gate, "action");
  return filled(
      "reason",
      {{"symbol", symbol_of(state)},
       {"state", shown(english(state == "not met" ? "state.not met" : "state.unknown"))},
       {"gate", shown(gate_name(text_in(gate, "id")))},
       {"reason", shown(text_in(gate, "reason"))},
       {"action", action.empty() ? Markup{} : filled("action", {{"action", shown(action)}})}});
}

// What is not met before what is not known.
Markup reasons_markup(const ordered_json& room) {
  Markup items;
  for (const std::string state : {"not met", "unknown"}) {
    for (const ordered_json& gate : part_of(room, "gates")) {
      if (text_in(gate, "state") == state) {
        items.text += reason_markup(gate).text;
      }
    }
  }
  return items.text.empty() ? items : filled("reasons", {{"items", items}});
}

std::string newest_reading_of(const ordered_json& room) {
  std::string newest;
  for (const ordered_json& channel : part_of(room, "channels")) {
    newest = std::max(newest, text_in(channel, "value_at_utc"));  // all in UTC: sorted by time
  }
  return newest;
}

std::string hours_text(const ordered_json& room) {
  const double left = number_in(room, "dwell_left_hours");
  const std::string done =
      one_decimal(analysis::base::shown_hours_done(number_in(room, "dwell_done_hours")));
  const std::string required = one_decimal(number_in(room, "dwell_required_hours"));
  return left > 0.0
             ? english("hours.of", {{"done", done},
                                    {"required", required},
                                    {"left", one_decimal(analysis::base::shown_hours_left(left))}})
             : english("hours.full", {{"done", done}, {"required", required}});
}

Markup percent_of(const ordered_json& room) {
  const double required = number_in(room, "dwell_required_hours");
  const double share =
      required > 0.0 ? std::clamp(number_in(room, "dwell_done_hours") / required, 0.0, 1.0) : 1.0;
  return {one_decimal(100.0 * share)};
}

// A date where there is one, then the forecast's own words.
std::string forecast_text(const ordered_json& room) {
  if (text_in(room, "verdict") == "ready") {
    return english("forecast.now");
  }
  const ordered_json& forecast = part_of(room, "forecast");
  const std::string words = text_in(forecast, "text");
  const std::string ready = moment_text(text_in(forecast, "ready_expected_at_utc"));
  const std::string dwell = moment_text(text_in(room, "dwell_expected_at_utc"));
  std::string date;
  if (!ready.empty()) {
    date = english("forecast.ready", {{"at", ready}}) + ". ";
  } else if (!dwell.empty()) {
    date = english("forecast.dwell", {{"at", dwell}}) + ". ";
  }
  return date.empty() && words.empty() ? english("forecast.none") : date + words;
}

Markup room_markup(const ordered_json& room) {
  const std::string verdict = text_in(room, "verdict");
  return filled("room", {{"id", shown(text_in(room, "id"))},
                         {"name", shown(text_in(room, "name"))},
                         {"product", shown(text_in(room, "floor_product"))},
                         {"symbol", symbol_of(verdict)},
                         {"verdict", shown(verdict_word(verdict))},
                         {"newest", moment_markup(newest_reading_of(room))},
                         {"percent", percent_of(room)},
                         {"hours", shown(hours_text(room))},
                         {"forecast", shown(forecast_text(room))},
                         {"reasons", reasons_markup(room)}});
}

Markup alerts_markup(const ordered_json& status) {
  Markup items;
  for (const ordered_json& alert : part_of(status, "alerts")) {
    if (text_in(alert, "phase") == "firing") {
      const std::string text = text_in(alert, "text");
      items.text += "<li>" + shown(text.empty() ? text_in(alert, "key") : text).text + "</li>\n";
    }
  }
  return items.text.empty() ? items : filled("alerts", {{"items", items}});
}

// A shared view does not name the job.
std::string job_name(const ordered_json& status) {
  const std::string name = text_in(status, "job");
  return name.empty() ? english("job.shared") : name;
}

std::string title_of(const ordered_json& status) {
  std::string verdicts;
  for (const ordered_json& room : part_of(status, "rooms")) {
    verdicts += (verdicts.empty() ? "" : ", ") + verdict_word(text_in(room, "verdict"));
  }
  return english("title", {{"job", job_name(status)}, {"verdict", verdicts}});
}

std::string who_text(const Principal& principal) {
  return principal.role == Role::shared
             ? english("who.shared")
             : english("who", {{"name", principal.name},
                               {"role", english("role." + std::string(name_of(principal.role)))}});
}

// Inside a script element nothing but "</" and "<!--" means anything to the parser of HTML.
Markup state_markup(const PageView& view) {
  const ordered_json state = {{"role", name_of(view.principal.role)},
                              {"name", view.principal.name},
                              {"csrf_token", view.csrf_token},
                              {"status", view.status}};
  Markup markup;
  for (const char c : state.dump(-1, ' ', false, ordered_json::error_handler_t::replace)) {
    if (c == '<') {
      markup.text += "\\u003c";
    } else {
      markup.text += c;
    }
  }
  return markup;
}

}  // namespace

std::string page_html(const PageView& view) {
  Markup rooms;
  for (const ordered_json& room : part_of(view.status, "rooms")) {
    rooms.text += room_markup(room).text;
  }
  const ordered_json& simulated = part_of(view.status, "simulated");
  return filled("page", {{"title", shown(title_of(view.status))},
                         {"simulated", simulated == true ? filled("simulated", {}) : Markup{}},
                         {"job", shown(job_name(view.status))},
                         {"at", shown(moment_text(text_in(view.status, "at_utc")))},
                         {"rooms", rooms},
                         {"alerts", alerts_markup(view.status)},
                         {"who", shown(who_text(view.principal))},
                         {"csrf", shown(view.csrf_token)},
                         {"state", state_markup(view)}})
      .text;
}

std::string login_page_html(const LoginView& view) {
  Markup message;
  if (view.users_unread) {
    message = filled("message", {{"text", shown(english("login.unread"))}});
  } else if (view.retry_after > Micros{0}) {
    const std::string time = analysis::base::text_from_duration(view.retry_after);
    message = filled("message", {{"text", shown(english("login.wait", {{"time", time}}))}});
  } else if (view.refused) {
    message = filled("message", {{"text", shown(english("login.refused"))}});
  } else if (view.link_ended) {
    message = filled("message", {{"text", shown(english("login.link"))}});
  }
  return filled("login", {{"message", message}, {"name", shown(view.name)}}).text;
}

}  // namespace logger::web
