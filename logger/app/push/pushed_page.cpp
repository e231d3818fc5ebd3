#include "logger/app/push/pushed_page.hpp"

#include <sodium.h>

#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "analysis/certificate/html/markup.hpp"
#include "analysis/certificate/html/style.hpp"
#include "analysis/drawing/axis.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/text/terminal_text.hpp"
#include "logger/store/json_line.hpp"

namespace logger::app {

using analysis::certificate::element;
using analysis::certificate::shown;
using analysis::drawing::number_text;
using nlohmann::ordered_json;
using store::text_in;

namespace {

// Says every half minute how old the page is; docs/afar.md.
constexpr std::string_view kAgeScript = R"js((function(){
var m=document.getElementById("made"),made=+m.dataset.made,every=+m.dataset.every,words=m.textContent;
function tell(){var h=(Date.now()-made)/36e5,old=h*36e5>2*every,
age=h<0?"made later than this device's clock shows: one of the two is wrong":
"made "+(h<1?Math.round(h*60)+" min":h<48?Math.round(h)+" h":Math.round(h/24)+" days")+" ago";
m.textContent=(old?"OUT OF DATE, ":"")+age+". "+words;document.documentElement.className=old?"old":"";}
tell();setInterval(tell,30000);})();)js";

constexpr std::string_view kPageRules = R"css(
.old body{background:#7a1208;color:#fff;--ink:#fff;--quiet:#fff}
.old #made{font-size:1.4rem}
.verdict-text{font-size:1.7rem;font-weight:bold}
section{margin-bottom:2rem}
)css";

// Mail programs know neither variables nor most selectors.
constexpr std::string_view kMailRules = R"css(
body{font-family:Verdana,Geneva,sans-serif;color:#1c2126;background:#fff;max-width:40rem}
th,td{text-align:left;vertical-align:top;padding:.2rem .6rem .2rem 0}
img{max-width:100%}
.verdict-text{font-size:1.5rem;font-weight:bold}
.quiet{color:#5c6369}
)css";

// "2026-11-26T07:05:00Z" as it is written for people; empty stays empty.
std::string minute_of(const std::string& rfc3339) {
  const auto at = analysis::base::utc_from_rfc3339(rfc3339);
  return at ? analysis::base::minute_text_from_utc(*at) : rfc3339;
}

std::string upper(std::string text) {
  std::ranges::transform(text, text.begin(), [](unsigned char c) {
    return static_cast<char>(c >= 'a' && c <= 'z' ? c - 'a' + 'A' : c);
  });
  return text;
}

// As the gate's own sentence rounds them.
std::string hours_text(const ordered_json& room, const char* key) {
  const auto found = room.find(key);
  return found != room.end() && found->is_number()
             ? analysis::readiness::text_from_hours_done(found->get<double>())
             : "? h";
}

std::string row(std::initializer_list<std::string> cells) {
  std::string inner;
  for (const std::string& cell : cells) {
    inner += element("td", shown(cell));
  }
  return element("tr", inner);
}

// The value of a channel with its unit; the key names that.
std::string value_text(const ordered_json& channel) {
  constexpr std::string_view kValue = "value_";
  for (const auto& [key, value] : channel.items()) {
    if (!key.starts_with(kValue) || key == "value_at_utc") {
      continue;
    }
    const std::string unit = key.substr(kValue.size());
    return value.is_number() ? number_text(value.get<double>(), 1) + ' ' +
                                   (unit == "celsius"      ? "°C"
                                    : unit == "percent_rh" ? "%RH"
                                                           : unit)
                             : "no value";
  }
  return "no value";
}

std::string gates_table(const ordered_json& gates) {
  std::string rows;
  for (const ordered_json& gate : gates) {
    const std::string action = text_in(gate, "action");
    rows += row({text_in(gate, "state"),
                 text_in(gate, "reason") + (action.empty() ? "" : "\nDo: " + action)});
  }
  return element("table", rows);
}

std::string channels_table(const ordered_json& channels) {
  std::string rows;
  for (const ordered_json& channel : channels) {
    rows += row({spaced(text_in(channel, "role")), value_text(channel),
                 minute_of(text_in(channel, "value_at_utc"))});
  }
  return element("table", rows);
}

std::string room_section(const ordered_json& room, const RoomCharts& charts) {
  const std::string id = text_in(room, "id");
  const std::string name = text_in(room, "name");
  std::string inner =
      element("h2", shown(name.empty() ? id : name)) +
      element("p", {{"class", "verdict-text"}}, shown(upper(text_in(room, "verdict")))) +
      element("p", shown(text_in(room, "headline"))) +
      element("p", shown("Hours in band: " + hours_text(room, "dwell_done_hours") + " of " +
                         hours_text(room, "dwell_required_hours") + "."));
  if (const auto forecast = room.find("forecast"); forecast != room.end()) {
    const std::string at = text_in(*forecast, "ready_expected_at_utc");
    inner += element("p", shown((at.empty() ? "" : "Expected " + minute_of(at) + ". ") +
                                text_in(*forecast, "text")));
  }
  inner += gates_table(room.value("gates", ordered_json::array())) +
           channels_table(room.value("channels", ordered_json::array()));
  if (const auto found = charts.find(id); found != charts.end()) {
    for (const std::string& chart : found->second) {
      inner += element("figure", chart);
    }
  }
  return element("section", inner);
}

std::string alerts_section(const ordered_json& status) {
  std::string rows;
  for (const ordered_json& alert : status.value("alerts", ordered_json::array())) {
    const std::string text = text_in(alert, "text");
    const std::string key = spaced(text_in(alert, "rule")) + ", " + text_in(alert, "subject");
    const std::string by = text_in(alert, "acknowledged_by");
    rows += row({text_in(alert, "phase"), minute_of(text_in(alert, "since_utc")),
                 (text.empty() ? key : text) + (by.empty() ? "" : "\nAcknowledged by " + by)});
  }
  return element("h2", "Alerts") +
         (rows.empty() ? element("p", "None is pending or firing.") : element("table", rows));
}

std::string boxes_section(const ordered_json& status) {
  std::string rows;
  for (const ordered_json& box : status.value("boxes", ordered_json::array())) {
    const auto up = box.find("link_up");
    const bool known = up != box.end() && up->is_boolean();
    rows += row({text_in(box, "id"),
                 !known            ? "never heard"
                 : up->get<bool>() ? "link up"
                                   : "link down",
                 minute_of(text_in(box, "since_utc"))});
  }
  return rows.empty() ? "" : element("h2", "Boxes") + element("table", rows);
}

std::string made_words(const PushedState& state) {
  const std::string hours = number_text(analysis::base::hours_from(state.every), 1);
  return "Made " + analysis::base::minute_text_from_utc(state.made_at) +
         ". The next one is due within " + hours +
         " h: if that time and as much again has passed, "
         "what stands here is out of date.";
}

std::string title_of(const ordered_json& status) {
  const std::string job = text_in(status, "job");
  return job.empty() ? "State of a site" : job;
}

std::string names_of(const ordered_json& status) {
  std::string names;
  for (const char* key : {"site_address", "installer", "client"}) {
    const std::string name = text_in(status, key);
    names += (names.empty() || name.empty() ? "" : ", ") + name;
  }
  return names.empty() ? "" : element("p", {{"class", "quiet"}}, shown(names));
}

std::string state_markup(const PushedPage& page) {
  const ordered_json& status = page.state.status;
  std::string inner;
  for (const ordered_json& room : status.value("rooms", ordered_json::array())) {
    inner += room_section(room, page.charts);
  }
  return inner + alerts_section(status) + boxes_section(status) +
         element(
             "p", {{"class", "quiet"}},
             "What is expected is for planning and no promise. The manufacturer's instructions, "
             "local codes and licensed trades come first.");
}

std::string heading_markup(const ordered_json& status) {
  const bool simulated = status.value("simulated", false);
  return (simulated
              ? element("p", {{"class", "notice"}}, "SIMULATED SITE: nothing here was measured")
              : "") +
         element("h1", shown(title_of(status))) + names_of(status);
}

// Of a script or style, for the document's own policy. Source: W3C Content Security Policy Level 3.
std::string policy_hash(std::string_view text) {
  std::array<unsigned char, crypto_hash_sha256_BYTES> hash{};
  crypto_hash_sha256(hash.data(), reinterpret_cast<const unsigned char*>(text.data()), text.size());
  std::array<char,
             sodium_base64_ENCODED_LEN(crypto_hash_sha256_BYTES, sodium_base64_VARIANT_ORIGINAL)>
      base64{};
  sodium_bin2base64(base64.data(), base64.size(), hash.data(), hash.size(),
                    sodium_base64_VARIANT_ORIGINAL);
  return std::string("'sha256-") + base64.data() + "'";
}

std::string document(const std::string& title, const std::string& head, const std::string& body) {
  return "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>"
         "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>" +
         element("title", shown(title)) + head + "</head>" + element("body", body) + "</html>\n";
}

std::string proof_markup(const PushedPage& page) {
  return element("h2", "Signature") +
         element("p",
                 shown(page.key_fingerprint.empty()
                           ? "Not signed: " + page.unsigned_because + "."
                           : "This page holds its content once more, signed with the key " +
                                 page.key_fingerprint +
                                 "; compare that with the one you were given. How to check it: "
                                 "docs/afar.md.")) +
         (page.signed_line.empty() ? ""
                                   : "<script type=\"application/json\" id=\"signed\">" +
                                         page.signed_line + "</script>");
}

}  // namespace

std::string pushed_page_html(const PushedPage& page) {
  const std::string style = analysis::certificate::style_sheet() + std::string(kPageRules);
  const std::string policy = "default-src 'none'; style-src " + policy_hash(style) +
                             "; script-src " + policy_hash(kAgeScript);
  const std::string made = std::to_string(page.state.made_at.value / 1000);
  const std::string every = std::to_string(page.state.every.count() / 1000);
  return document(
      title_of(page.state.status),
      "<meta http-equiv=\"Content-Security-Policy\" content=\"" + policy + "\"/>" + "<style>" +
          style + "</style>",
      heading_markup(page.state.status) +
          element("p",
                  {{"id", "made"}, {"class", "notice"}, {"data-made", made}, {"data-every", every}},
                  shown(made_words(page.state))) +
          state_markup(page) + proof_markup(page) + "<script>" + std::string(kAgeScript) +
          "</script>");
}

std::string mail_page_html(const PushedPage& page) {
  return document(
      title_of(page.state.status), "<style>" + std::string(kMailRules) + "</style>",
      heading_markup(page.state.status) +
          element("p", shown("As of " + analysis::base::minute_text_from_utc(page.state.made_at))) +
          state_markup(page));
}

}  // namespace logger::app
