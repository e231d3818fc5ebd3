#include "logger/app/commands/rehearse/rehearsal_report.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <tuple>

#include "logger/app/room/history.hpp"
#include "logger/app/room/room_tracker.hpp"
#include "logger/app/text/json_document.hpp"
#include "logger/app/text/terminal_text.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;
using analysis::base::rfc3339_from_utc;
using analysis::readiness::GateState;
using analysis::readiness::Verdict;
using nlohmann::ordered_json;
using store::Result;

namespace {

constexpr int kAll = std::numeric_limits<int>::max();
constexpr std::size_t kIndent = 4;
// A message tells it too; here the whole page does.
constexpr std::string_view kSimulatedMark = "SIMULATED SITE: ";

std::string text_of_payload(const std::string& payload_json) {
  const auto payload = nlohmann::json::parse(payload_json, nullptr, false);
  std::string text = payload.is_object() ? payload.value("text", std::string()) : "";
  return text.starts_with(kSimulatedMark) ? text.substr(kSimulatedMark.size()) : text;
}

using MessageKey = std::pair<std::string, UtcMicros>;  // alert key and moment

RehearsedTelling telling_from(const store::Delivery& delivery,
                              const std::map<MessageKey, std::string>& texts, UtcMicros end) {
  RehearsedTelling telling{delivery.at,
                           delivery.due_at,
                           delivery.recipient,
                           delivery.kind,
                           delivery.number,
                           delivery.held,
                           delivery.delivered_at.has_value() || delivery.due_at <= end,
                           delivery.alert_key,
                           text_of_payload(delivery.payload_json)};
  const auto message = texts.find({delivery.alert_key, delivery.at});
  if (telling.text.empty() && message != texts.end()) {
    telling.text = message->second;
  }
  return telling;
}

Result<std::vector<RehearsedTelling>> tellings_of(store::ReadingStore& store, UtcMicros end) {
  const auto messages = store.recent_messages(kAll);
  const auto deliveries = store.recent_deliveries(kAll);
  if (!messages || !deliveries) {
    return store::Failure{!messages ? messages.error() : deliveries.error()};
  }
  std::map<MessageKey, std::string> texts;
  for (const store::Message& message : messages.value()) {
    texts[{message.alert_key, message.at}] = text_of_payload(message.payload_json);
  }
  std::vector<RehearsedTelling> tellings;
  std::set<MessageKey> told;
  for (const store::Delivery& delivery : deliveries.value()) {
    tellings.push_back(telling_from(delivery, texts, end));
    told.insert({delivery.alert_key, delivery.at});
  }
  for (const store::Message& message : messages.value()) {
    if (!told.contains({message.alert_key, message.at})) {
      tellings.push_back({message.at, message.at, "", message.transition, 0, false, true,
                          message.alert_key, texts[{message.alert_key, message.at}]});
    }
  }
  const auto order = [](const RehearsedTelling& telling) {
    return std::tie(telling.due_at, telling.at, telling.alert_key, telling.kind, telling.number,
                    telling.recipient);
  };
  std::sort(tellings.begin(), tellings.end(),
            [&](const auto& a, const auto& b) { return order(a) < order(b); });
  return tellings;
}

// The verdict of one room at the end of each hour; where it differs from the hour before.
Result<void> add_verdicts(OpenedJob& opened, const JobRoom& room, RehearsalReport& report) {
  const auto records = job_records_from(*opened.store);
  if (!records) {
    return store::Failure{records.error()};
  }
  auto tracker =
      RoomTracker::rebuild(*opened.store, opened.job, room, records.value(), report.from);
  if (!tracker) {
    return store::Failure{tracker.error()};
  }
  const Micros step = analysis::base::micros_from_hours(1);
  UtcMicros hour = report.from + step;
  std::optional<Verdict> last;
  const auto look_until = [&](UtcMicros until) {
    for (; hour <= until; hour = hour + step) {
      const Verdict verdict = tracker.value().assess(hour).verdict;
      if (verdict != last) {
        report.verdicts.push_back({hour, room.id, verdict});
        last = verdict;
      }
    }
  };
  const auto visited =
      visit_history(*opened.store, {boxes_of_room(opened.job, room.id), report.from, report.to, {}},
                    [&](const std::string& box_id, const Record& record, DatedTime at) {
                      look_until(at.at - Micros{1});
                      tracker.value().feed(box_id, record, at.at);
                    });
  look_until(report.to);
  const bool was_ready =
      std::any_of(report.verdicts.begin(), report.verdicts.end(), [&](const auto& verdict) {
        return verdict.room_id == room.id && verdict.verdict == Verdict::ready;
      });
  if (!was_ready) {
    for (auto& gate : tracker.value().assess(report.to).gates) {
      if (gate.state != GateState::met) {
        report.obstacles.push_back({room.id, std::move(gate)});
      }
    }
  }
  return visited ? Result<void>{} : store::Failure{visited.error()};
}

std::string list_text(const std::string& heading, const std::vector<std::string>& sentences) {
  std::string text;
  for (const std::string& sentence : sentences) {
    text += "  - " + wrapped(sentence, kIndent) + '\n';
  }
  return text.empty() ? "" : '\n' + heading + '\n' + text;
}

// Several recipients of the same at the same time are one entry.
bool is_same_but_recipient(const RehearsedTelling& a, const RehearsedTelling& b) {
  return std::tie(a.due_at, a.at, a.alert_key, a.kind, a.number, a.held) ==
         std::tie(b.due_at, b.at, b.alert_key, b.kind, b.number, b.held);
}

// A reminder says again what stands above it.
std::string content_text(const RehearsedTelling& telling) {
  if (telling.kind == "digest") {
    return "the day in short";
  }
  const bool is_again = telling.kind == "reminder" || telling.kind == "escalation";
  return is_again || telling.text.empty() ? telling.alert_key : telling.text;
}

std::string telling_text(const RehearsedTelling& telling, const std::string& recipients) {
  std::string line =
      minute_text_from_utc(telling.due_at) + "  to " + recipients + ": " + telling.kind;
  if (telling.number > 0) {
    line += ' ' + std::to_string(telling.number);
  }
  if (telling.held) {
    line += ", held by quiet hours since " + minute_text_from_utc(telling.at);
  }
  if (!telling.was_sent) {
    line += ", not due before the end";
  }
  return wrapped(line, kIndent) + "\n    " + wrapped(content_text(telling), kIndent) + '\n';
}

std::vector<std::string> obstacle_sentences(const std::vector<RehearsedObstacle>& obstacles) {
  std::vector<std::string> sentences;
  for (const auto& [room_id, gate] : obstacles) {
    sentences.push_back(room_id + ", " + gate.id + " " + std::string(name_of(gate.state)) + ": " +
                        gate.reason);
  }
  return sentences;
}

std::string tellings_text(const std::vector<RehearsedTelling>& tellings) {
  std::string text;
  for (auto telling = tellings.begin(); telling != tellings.end();) {
    const RehearsedTelling& first = *telling;
    std::string recipients;
    for (; telling != tellings.end() && is_same_but_recipient(first, *telling); ++telling) {
      recipients += (recipients.empty() ? "" : ", ") +
                    (telling->recipient.empty() ? "nobody" : telling->recipient);
    }
    text += telling_text(first, recipients);
  }
  return text.empty() ? "nobody of anything\n" : text;
}

}  // namespace

Result<void> read_rehearsal(OpenedJob& opened, RehearsalReport& report) {
  report.job_name = opened.job.name;
  report.time_zone = opened.job.alerts.time_zone;
  report.to = opened.now;
  auto tellings = tellings_of(*opened.store, report.to);
  if (!tellings) {
    return store::Failure{tellings.error()};
  }
  report.tellings = std::move(tellings).value();
  for (const JobRoom& room : opened.job.rooms) {
    if (const auto added = add_verdicts(opened, room, report); !added) {
      return added;
    }
  }
  std::stable_sort(report.verdicts.begin(), report.verdicts.end(),
                   [](const auto& a, const auto& b) { return a.at < b.at; });
  return {};
}

std::string text_from_rehearsal(const RehearsalReport& report) {
  std::string text =
      "REHEARSAL, simulated: nothing was sent, nothing of the job was changed\n" +
      wrapped(report.job_name + ", scenario " + report.scenario + ", " +
                  minute_text_from_utc(report.from) + " to " + minute_text_from_utc(report.to) +
                  "; quiet hours and digest by the clocks of " + report.time_zone,
              0) +
      '\n' + list_text("Assumed", report.assumed) + list_text("Not rehearsed", report.left_out) +
      "\nWho would have been told what\n" + tellings_text(report.tellings);
  text += "\nVerdicts, by the hour\n";
  for (const RehearsedVerdict& verdict : report.verdicts) {
    text += minute_text_from_utc(verdict.at) + "  " + verdict.room_id + ": " +
            verdict_banner(verdict.verdict) + '\n';
  }
  text +=
      list_text("Never ready; not met or unknown at the end", obstacle_sentences(report.obstacles));
  return text;
}

std::string json_from_rehearsal(const RehearsalReport& report) {
  ordered_json tellings = ordered_json::array();
  for (const RehearsedTelling& telling : report.tellings) {
    tellings.push_back({{"at_utc", rfc3339_from_utc(telling.at)},
                        {"due_at_utc", rfc3339_from_utc(telling.due_at)},
                        {"recipient", telling.recipient},
                        {"kind", telling.kind},
                        {"number", telling.number},
                        {"held_by_quiet_hours", telling.held},
                        {"sent_before_end", telling.was_sent},
                        {"alert_key", telling.alert_key},
                        {"text", telling.text}});
  }
  ordered_json verdicts = ordered_json::array();
  for (const RehearsedVerdict& verdict : report.verdicts) {
    verdicts.push_back({{"at_utc", rfc3339_from_utc(verdict.at)},
                        {"room", verdict.room_id},
                        {"verdict", name_of(verdict.verdict)}});
  }
  ordered_json obstacles = ordered_json::array();
  for (const auto& [room_id, gate] : report.obstacles) {
    obstacles.push_back({{"room", room_id},
                         {"gate", gate.id},
                         {"state", name_of(gate.state)},
                         {"reason", gate.reason}});
  }
  return text_from_document({{"format", "dwellog-rehearsal/1"},
                             {"simulated", true},
                             {"scenario", report.scenario},
                             {"job", report.job_name},
                             {"from_utc", rfc3339_from_utc(report.from)},
                             {"to_utc", rfc3339_from_utc(report.to)},
                             {"time_zone", report.time_zone},
                             {"assumed", report.assumed},
                             {"not_rehearsed", report.left_out},
                             {"tellings", tellings},
                             {"verdicts", verdicts},
                             {"never_ready", obstacles}});
}

}  // namespace logger::app
