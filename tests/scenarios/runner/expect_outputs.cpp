// Expectations of what the logger told.
#include <algorithm>
#include <sstream>
#include <stdexcept>

#include "tests/scenarios/runner/expectation_kinds.hpp"

namespace scenarios {

using analysis::base::Micros;

namespace {

// "[of SUBJECT]"; empty = any.
std::string read_subject(WordCursor& words) {
  return words.take_if("of") ? words.word("a subject") : std::string();
}

std::string expect_event(WordCursor& words, CaseOutcome& outcome) {
  const std::string kind = words.word("a kind of event");
  const std::string subject = read_subject(words);
  const auto events = outcome.opened().store->events(0);
  if (!events) {
    throw std::runtime_error(events.error().context);
  }
  const auto count = std::count_if(
      events.value().begin(), events.value().end(), [&](const logger::store::Event& event) {
        return event.kind == kind && (subject.empty() || event.subject == subject);
      });
  return compared(words, static_cast<double>(count), "events " + kind);
}

std::string expect_alert(WordCursor& words, CaseOutcome& outcome) {
  constexpr int kMost = 100'000;
  const std::string rule = words.word("a rule");
  const std::string subject = read_subject(words);
  const std::string transition = words.word("fired or cleared");
  const auto messages = outcome.opened().store->recent_messages(kMost);
  if (!messages) {
    throw std::runtime_error(messages.error().context);
  }
  const auto count =
      std::count_if(messages.value().begin(), messages.value().end(), [&](const auto& message) {
        return message.transition == transition &&
               (subject.empty() ? message.alert_key.starts_with(rule + "/")
                                : message.alert_key == rule + "/" + subject);
      });
  return compared(words, static_cast<double>(count), "messages " + rule + " " + transition);
}

// "delivered KIND of RULE to RECIPIENT": so many that the recipient took.
std::string expect_delivered(WordCursor& words, CaseOutcome& outcome) {
  constexpr int kMost = 100'000;
  const std::string kind = words.word("fired, cleared, reminder or escalation");
  words.expect("of");
  const std::string rule = words.word("a rule");
  words.expect("to");
  const std::string recipient = words.word("a recipient");
  const auto deliveries = outcome.opened().store->recent_deliveries(kMost);
  if (!deliveries) {
    throw std::runtime_error(deliveries.error().context);
  }
  const auto count =
      std::count_if(deliveries.value().begin(), deliveries.value().end(), [&](const auto& one) {
        return one.kind == kind && one.alert_key.starts_with(rule + "/") &&
               one.recipient == recipient && one.delivered_at;
      });
  return compared(words, static_cast<double>(count), "delivered to " + recipient);
}

std::string expect_phase(WordCursor& words, CaseOutcome& outcome) {
  const std::string rule = words.word("a rule");
  const std::string subject = read_subject(words);
  const std::string wanted = words.word("inactive, pending or firing");
  words.expect_end();
  std::string phase = "inactive";
  for (const auto& alert : outcome.status_json().at("alerts")) {
    if (alert.at("key") == rule + "/" + subject) {
      phase = alert.at("phase").get<std::string>();
    }
  }
  return found(words, phase == wanted, phase);
}

const nlohmann::json& room_of(const std::string& id, CaseOutcome& outcome) {
  const auto& rooms = outcome.status_json().at("rooms");
  for (const auto& room : rooms) {
    if (id.empty() || room.at("id") == id) {
      return room;
    }
  }
  throw std::runtime_error("no room " + id);
}

std::string expect_verdict(WordCursor& words, CaseOutcome& outcome) {
  const std::string wanted = words.word("a verdict");
  const std::string room = read_subject(words);
  words.expect_end();
  const std::string verdict = room_of(room, outcome).at("verdict").get<std::string>();
  return found(words, verdict == wanted, verdict);
}

std::string expect_reason(WordCursor& words, CaseOutcome& outcome) {
  const std::string wanted = words.word("words of a reason");
  const std::string room = read_subject(words);
  words.expect_end();
  std::string reasons;
  for (const auto& gate : room_of(room, outcome).at("gates")) {
    reasons +=
        gate.at("id").get<std::string>() + ": " + gate.at("reason").get<std::string>() + "; ";
  }
  return found(words, reasons.find(wanted) != std::string::npos, reasons);
}

std::string expect_status(WordCursor& words, CaseOutcome& outcome) {
  const std::string wanted = words.word("words of the status");
  words.expect_end();
  return found(words, outcome.status_text().find(wanted) != std::string::npos,
               outcome.status_text());
}

std::string expect_log(WordCursor& words, CaseOutcome& outcome) {
  const std::string wanted = words.word("words of the daemon's output");
  std::istringstream lines(outcome.daemon_log());
  int count = 0;
  for (std::string line; std::getline(lines, line);) {
    count += line.find(wanted) != std::string::npos ? 1 : 0;
  }
  return compared(words, count, "lines");
}

std::string expect_age(WordCursor& words, CaseOutcome& outcome) {
  words.expect("of");
  const std::string channel_id = words.word("a channel");
  const std::size_t op = words.one_of(kOperators);
  const Micros limit = words.duration();
  words.expect_end();
  for (const auto& room : outcome.status_json().at("rooms")) {
    for (const auto& channel : room.at("channels")) {
      if (channel.at("id") != channel_id || channel.at("value_at_utc").is_null()) {
        continue;
      }
      const auto at =
          analysis::base::utc_from_rfc3339(channel.at("value_at_utc").get<std::string>());
      const double age_s = static_cast<double>((outcome.end() - at.value()).count()) / 1e6;
      const Comparison comparison{op, static_cast<double>(limit.count()) / 1e6};
      return found(words, comparison.holds(age_s), text_of(age_s) + " s");
    }
  }
  return found(words, false, "no good value");
}

std::string expect_exit(WordCursor& words, CaseOutcome& outcome) {
  const auto wanted = static_cast<int>(words.whole(0, 255));
  words.expect_end();
  const auto status = outcome.exit_status();
  return found(words, status == wanted, status ? std::to_string(*status) : "a daemon that hung");
}

std::string expect_struck(WordCursor& words, CaseOutcome& outcome) {
  return compared(words, static_cast<double>(outcome.faults_struck()), "faults");
}

}  // namespace

const std::array<ExpectationKind, kOutputKinds>& output_expectations() {
  static constexpr std::array<ExpectationKind, kOutputKinds> kKinds{
      ExpectationKind{"event", expect_event},     ExpectationKind{"alert", expect_alert},
      ExpectationKind{"phase", expect_phase},     ExpectationKind{"delivered", expect_delivered},
      ExpectationKind{"verdict", expect_verdict}, ExpectationKind{"reason", expect_reason},
      ExpectationKind{"status", expect_status},   ExpectationKind{"log", expect_log},
      ExpectationKind{"age", expect_age},         ExpectationKind{"exit", expect_exit},
      ExpectationKind{"struck", expect_struck}};
  return kKinds;
}

}  // namespace scenarios
