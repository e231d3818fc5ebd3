// What whoever was given a link may see. Named key by key, so that a new fact of the status is left
// out until somebody decides otherwise.
#include <nlohmann/json.hpp>

#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/status/status_headline.hpp"
#include "logger/app/status/status_report.hpp"

namespace logger::app {

using nlohmann::ordered_json;

namespace {

ordered_json picked(const ordered_json& from, std::initializer_list<const char*> keys) {
  ordered_json to = ordered_json::object();
  for (const char* key : keys) {
    if (const auto found = from.find(key); found != from.end()) {
      to[key] = *found;
    }
  }
  return to;
}

template <class Change>
ordered_json each(const ordered_json& list, Change change) {
  ordered_json changed = ordered_json::array();
  for (const ordered_json& item : list) {
    changed.push_back(change(item));
  }
  return changed;
}

// The wording of a gate that a person answered repeats who it was and what he remarked.
ordered_json shared_gate(const ordered_json& gate, const ordered_json& limits) {
  ordered_json shared = gate;
  const std::string id = gate.value("id", "");
  const std::string state = gate.value("state", "");
  if (!id.starts_with(analysis::readiness::kSiteGatePrefix)) {
    return shared;
  }
  const auto asked = analysis::readiness::site_gate_from_name(
      id.substr(analysis::readiness::kSiteGatePrefix.size()));
  const std::string question =
      asked ? question_of(*asked, {limits.value("flatness_within_mm", 0.0),
                                   limits.value("flatness_straightedge_m", 0.0), ""})
            : std::string();
  using analysis::readiness::ReasonKey;
  if (gate.value("reason", "") ==
      text_from(ReasonKey::site_not_noted, {{"question", question}}).reason) {
    return shared;
  }
  shared["reason"] = (state == "unknown" ? "Still open" : "Noted as " + state) +
                     (state == "met" || !asked ? "." : "; asked was: " + question);
  return shared;
}

ordered_json shared_room(const ordered_json& room) {
  ordered_json shared = picked(room, {"id",
                                      "name",
                                      "floor_area_m2",
                                      "floor_product",
                                      "verdict",
                                      "headline",
                                      "forecast",
                                      "limits",
                                      "dwell_done_hours",
                                      "dwell_left_hours",
                                      "dwell_required_hours",
                                      "dwell_done_at_utc",
                                      "dwell_expected_at_utc",
                                      "dwell_resets",
                                      "unknown_share_fraction",
                                      "laying",
                                      "service",
                                      "wrong_ready_probability_at_most_fraction",
                                      "gates",
                                      "channels"});
  shared["gates"] = each(room["gates"], [&room](const ordered_json& gate) {
    return shared_gate(gate, room["limits"]);
  });
  shared["headline"] = headline_from(shared);
  return shared;
}

}  // namespace

namespace {

std::string verdict_sentence(const std::string& verdict, const ordered_json& gates) {
  if (verdict == "ready") {
    return "Ready: every gate is met.";
  }
  const bool known = verdict == "not ready";
  std::string reason;
  int more = -1;
  for (const ordered_json& gate : gates) {
    const std::string state = gate.value("state", "");
    const bool decides = known ? state == "not met" : state == "unknown";
    if (decides && reason.empty()) {
      reason = gate.value("reason", "");
    }
    more += state == "met" ? 0 : 1;
  }
  return std::string(known ? "Not ready: " : "Cannot tell: ") + reason +
         (more < 1    ? std::string()
          : more == 1 ? " One more is open."
                      : " " + std::to_string(more) + " more are open.");
}

}  // namespace

std::string headline_from(const ordered_json& room) {
  const std::string verdict = verdict_sentence(room.value("verdict", ""), room["gates"]);
  const auto laying = room.find("laying");
  if (laying == room.end() || laying->is_null()) {
    return verdict;
  }
  const auto day_of = [&](const char* key) {
    return (*laying)[key].get<std::string>().substr(0, 10);
  };
  if ((*laying)["finished_at_utc"].is_null()) {
    return "Being laid since " + day_of("began_at_utc") + ". " + verdict;
  }
  return "Laid on " + day_of("finished_at_utc") + ". " + room["service"].value("text", "");
}

ordered_json shared_document_from(const ordered_json& document) {
  ordered_json shared =
      picked(document, {"format", "simulated", "at_utc", "rooms", "boxes", "logger_running",
                        "logger_seen_at_utc", "alerts", "lost_records", "undated_records"});
  shared["rooms"] = each(document["rooms"], shared_room);
  shared["boxes"] = each(document["boxes"], [](const ordered_json& box) {
    return picked(box, {"id", "link_up", "since_utc", "keeps_records", "records_kept_until_utc"});
  });
  shared["alerts"] = each(document["alerts"], [](const ordered_json& alert) {
    return picked(alert, {"key", "rule", "subject", "phase", "since_utc"});
  });
  return shared;
}

}  // namespace logger::app
