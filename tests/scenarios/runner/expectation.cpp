#include "tests/scenarios/runner/expectation.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <sstream>
#include <stdexcept>

#include "firmware-sim/sim/script/word_cursor.hpp"

namespace scenarios {

using analysis::base::Micros;
using firmware::sim::script::WordCursor;

namespace {

constexpr double kAny = 1e15;
constexpr double kSecondsPerHour = 3600.0;
constexpr double kHalfOfLastDigit = 0.0005 + 1e-9;
constexpr std::array<std::string_view, 3> kOperators{"=", "<=", ">="};

std::string text_of(double value) {
  std::ostringstream text;
  text.precision(10);
  text << value;
  return text.str();
}

struct Comparison {
  std::size_t op = 0;
  double limit = 0.0;

  [[nodiscard]] bool holds(double value, double tolerance = 0.0) const {
    return op == 0   ? std::abs(value - limit) <= tolerance
           : op == 1 ? value <= limit
                     : value >= limit;
  }
};

Comparison read_comparison(WordCursor& words) {
  Comparison comparison;
  comparison.op = words.one_of(kOperators);
  comparison.limit = words.real(-kAny, kAny);
  words.expect_end();
  return comparison;
}

// What was found, when the words are in order and it does not hold.
std::string found(const WordCursor& words, bool holds, const std::string& what) {
  return !words.ok() ? words.fault() : holds ? "" : "found " + what;
}

std::string compared(WordCursor& words, double value, const std::string& what,
                     double tolerance = 0.0) {
  const Comparison comparison = read_comparison(words);
  return found(words, comparison.holds(value, tolerance), text_of(value) + " " + what);
}

std::string expect_records(WordCursor& words, CaseOutcome& outcome) {
  words.expect("complete");
  words.expect_end();
  std::string fault;
  for (std::size_t box = 0; box < outcome.scenario_case().scenario.boxes.size(); ++box) {
    const RecordTally& tally = outcome.records_of(box);
    if (!tally.missing.empty() || tally.extra != 0 || tally.different != 0 || tally.stored == 0) {
      fault += "box " + std::to_string(box + 1) + ": " + std::to_string(tally.stored) +
               " stored, " + std::to_string(tally.missing.size()) + " missing, " +
               std::to_string(tally.extra) + " twice or never taken, " +
               std::to_string(tally.different) + " different; ";
    }
  }
  return found(words, fault.empty(), fault);
}

std::string expect_exact_gaps(CaseOutcome& outcome) {
  std::string fault;
  std::size_t lost = 0;
  for (std::size_t box = 0; box < outcome.scenario_case().scenario.boxes.size(); ++box) {
    const RecordTally& tally = outcome.records_of(box);
    const auto gaps = outcome.gaps_of(box);
    lost += gaps.size();
    const bool counted = outcome.lost_in_box(box) == gaps.size();
    if (tally.missing != gaps || !counted || tally.extra != 0 || tally.different != 0) {
      fault += "box " + std::to_string(box + 1) + ": " + std::to_string(tally.missing.size()) +
               " missing, " + std::to_string(gaps.size()) + " in gaps, " +
               std::to_string(outcome.lost_in_box(box)) + " lost as the box counts, " +
               std::to_string(tally.extra) + " twice or never taken, " +
               std::to_string(tally.different) + " different; ";
    }
  }
  return fault.empty() && lost == 0 ? "nothing is lost" : fault;
}

std::string expect_gaps(WordCursor& words, CaseOutcome& outcome) {
  if (words.take_if("exact")) {
    words.expect_end();
    const std::string fault = expect_exact_gaps(outcome);
    return found(words, fault.empty(), fault);
  }
  std::size_t records = 0;
  for (std::size_t box = 0; box < outcome.scenario_case().scenario.boxes.size(); ++box) {
    records += outcome.gaps_of(box).size();
  }
  return compared(words, static_cast<double>(records), "records in gaps");
}

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

std::string expect_dwell(WordCursor& words, CaseOutcome& outcome) {
  const UtcHours dwell = outcome.dwell();
  if (!words.take_if("as")) {
    return compared(words, dwell.hours, "h", dwell.error_hours);
  }
  const bool undisturbed =
      words.one_of(std::array<std::string_view, 2>{"undisturbed", "recorded"}) == 0;
  words.expect_end();
  const double wanted = undisturbed ? outcome.dwell_undisturbed() : outcome.dwell_as_recorded();
  // Both ends of a run may be off by the error of their dates.
  const bool holds = std::abs(dwell.hours - wanted) <= 2.0 * dwell.error_hours && wanted > 0.0;
  return found(words, holds,
               text_of(dwell.hours) + " h instead of " + text_of(wanted) + " h, dates within " +
                   text_of(dwell.error_hours * kSecondsPerHour) + " s");
}

std::string expect_dates(WordCursor& words, CaseOutcome& outcome) {
  const DateTally& dates = outcome.dates();
  if (!words.take_if("within")) {
    return compared(words, dates.largest_s, "s from the true time");
  }
  words.expect("error");
  words.expect_end();
  const bool holds = dates.dated > 0 && dates.beyond_error == 0;
  return found(words, holds,
               std::to_string(dates.dated) + " of " + std::to_string(dates.stored) + " dated, " +
                   std::to_string(dates.beyond_error) + " beyond their error, the worst " +
                   text_of(dates.largest_s) + " s off; largest error stated " +
                   text_of(dates.largest_error_s) + " s; " + dates.worst);
}

std::string expect_undated(WordCursor& words, CaseOutcome& outcome) {
  const DateTally& dates = outcome.dates();
  return compared(words, static_cast<double>(dates.stored - dates.dated), "undated records");
}

std::string expect_quality(WordCursor& words, CaseOutcome& outcome) {
  const std::string quality = words.word("a quality");
  words.expect("of");
  const auto& values = outcome.exported(words.word("a channel"));
  const auto count = std::count_if(values.begin(), values.end(), [&](const ExportedValue& value) {
    return value.quality == quality;
  });
  std::map<std::string, int> all;
  for (const ExportedValue& value : values) {
    ++all[value.quality];
  }
  std::string shares;
  for (const auto& [name, number] : all) {
    shares += " " + name + " " + std::to_string(number);
  }
  const double share =
      values.empty() ? 0.0 : static_cast<double>(count) / static_cast<double>(values.size());
  return compared(words, share, "of all," + shares);
}

std::string expect_value(WordCursor& words, CaseOutcome& outcome) {
  words.expect("of");
  const auto& values = outcome.exported(words.word("a channel"));
  words.expect("from");
  const auto from = outcome.start() + words.duration();
  words.expect("to");
  const auto to = outcome.start() + words.duration();
  const Comparison comparison = read_comparison(words);
  int seen = 0;
  std::string wrong;
  for (const ExportedValue& value : values) {
    if (value.at < from || value.at > to || !value.value) {
      continue;
    }
    ++seen;
    if (!comparison.holds(*value.value, kHalfOfLastDigit) && wrong.empty()) {
      wrong = text_of(*value.value) + " at " + analysis::base::rfc3339_from_utc(value.at);
    }
  }
  return found(words, seen > 0 && wrong.empty(), seen == 0 ? "no good value" : wrong);
}

std::string expect_truth(WordCursor& words, CaseOutcome& outcome) {
  words.expect("of");
  const std::string channel_id = words.word("a channel");
  words.expect("within");
  const double within = words.real(0.0, kAny);
  words.expect_end();
  std::vector<ExportedValue> good;
  std::vector<analysis::base::UtcMicros> times;
  for (const ExportedValue& value : outcome.exported(channel_id)) {
    if (value.value && value.at <= outcome.end()) {
      good.push_back(value);
      times.push_back(value.at);
    }
  }
  const auto truth = outcome.truth_of(channel_id, times);
  double worst = 0.0;
  std::string text = "no good value";
  for (std::size_t i = 0; i < truth.size(); ++i) {
    const double away = std::abs(*good[i].value - truth[i]);
    if (i == 0 || away > worst) {
      worst = away;
      text = text_of(*good[i].value) + " where " + text_of(truth[i]) + " is true, at " +
             analysis::base::rfc3339_from_utc(good[i].at);
    }
  }
  return found(words, !truth.empty() && worst <= within, text);
}

// How often good values change from one side of a limit to the other.
std::string expect_crossings(WordCursor& words, CaseOutcome& outcome) {
  words.expect("of");
  const auto& values = outcome.exported(words.word("a channel"));
  words.expect("over");
  const double limit = words.real(-kAny, kAny);
  int count = 0;
  std::optional<bool> was_above;
  for (const ExportedValue& value : values) {
    if (value.value) {
      const bool above = *value.value > limit;
      count += was_above && *was_above != above ? 1 : 0;
      was_above = above;
    }
  }
  return compared(words, count, "crossings");
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

struct Kind {
  std::string_view word;
  std::string (*check)(WordCursor&, CaseOutcome&);
};
constexpr std::array<Kind, 19> kKinds{
    Kind{"records", expect_records}, Kind{"gaps", expect_gaps},
    Kind{"event", expect_event},     Kind{"alert", expect_alert},
    Kind{"phase", expect_phase},     Kind{"verdict", expect_verdict},
    Kind{"reason", expect_reason},   Kind{"status", expect_status},
    Kind{"log", expect_log},         Kind{"dwell", expect_dwell},
    Kind{"dates", expect_dates},     Kind{"undated", expect_undated},
    Kind{"quality", expect_quality}, Kind{"value", expect_value},
    Kind{"truth", expect_truth},     Kind{"crossings", expect_crossings},
    Kind{"age", expect_age},         Kind{"exit", expect_exit},
    Kind{"struck", expect_struck}};

}  // namespace

std::string fault_of(const Expectation& expectation, CaseOutcome& outcome) {
  WordCursor words(expectation.words);
  std::vector<std::string_view> names;
  for (const Kind& kind : kKinds) {
    names.push_back(kind.word);
  }
  const std::size_t index = words.one_of(names);
  if (!words.ok()) {
    return words.fault();
  }
  try {
    return kKinds.at(index).check(words, outcome);
  } catch (const std::exception& error) {
    return error.what();
  }
}

}  // namespace scenarios
