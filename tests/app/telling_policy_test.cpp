// Who is told what, and when. Times are hours since 2026-03-01T00:00:00Z unless a test says so.
#include "analysis/alerts/telling_policy.hpp"

#include <catch2/catch.hpp>
#include <cstdio>

using namespace analysis::alerts;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

constexpr UtcMicros kMidnight{1'772'323'200'000'000};  // 2026-03-01T00:00:00Z

UtcMicros at_hour(double hour) { return kMidnight + analysis::base::micros_from_hours(hour); }
double hour_of(UtcMicros at) { return analysis::base::hours_from(at - kMidnight); }
Micros no_offset(UtcMicros /*at*/) { return Micros{0}; }

// "office fired out_of_band@22.00->31.00" and the like.
std::string text_of(const PlannedTelling& telling) {
  char times[64];
  std::snprintf(times, sizeof times, "@%.2f->%.2f", hour_of(telling.at), hour_of(telling.due_at));
  return telling.recipient + " " + std::string(name_of(telling.kind)) +
         (telling.number > 0 ? std::to_string(telling.number) : "") + " " +
         std::string(name_of(telling.rule)) + times + (telling.held ? " held" : "");
}

class Site {
 public:
  std::vector<std::string> step(double hour, std::vector<AlertMessage> messages = {}) {
    std::vector<std::string> lines;
    for (const PlannedTelling& telling :
         plan_tellings(alerts, messages, rules, acknowledged, clock, at_hour(hour))) {
      lines.push_back(text_of(telling));
    }
    return lines;
  }
  std::vector<std::string> fire(double hour, RuleKind kind = RuleKind::out_of_band) {
    alert(kind).state.phase = Phase::firing;
    return step(hour, {{kind, "hall", Transition::fired, at_hour(hour), "hall: fired", {}}});
  }
  std::vector<std::string> clear(double hour, RuleKind kind = RuleKind::out_of_band) {
    alert(kind).state.phase = Phase::inactive;
    return step(hour, {{kind, "hall", Transition::cleared, at_hour(hour), "hall: cleared", {}}});
  }
  Alert& alert(RuleKind kind) {
    for (Alert& one : alerts) {
      if (one.kind == kind) {
        return one;
      }
    }
    return alerts.emplace_back(Alert{kind, "hall", {}, {}});
  }
  TellingRules rules{{}, {{"office", {}}}, "", {}};
  std::vector<Alert> alerts;
  std::vector<Acknowledgement> acknowledged;
  LocalClock clock = no_offset;
};

using Lines = std::vector<std::string>;
constexpr QuietHours kNight{minutes(22 * 60), minutes(7 * 60)};

}  // namespace

TEST_CASE("A transition is told to everybody at once, and once") {
  Site site;
  site.rules.recipients.push_back({"boss", {}});
  CHECK(site.fire(10) ==
        Lines{"office fired out_of_band@10.00->10.00", "boss fired out_of_band@10.00->10.00"});
  CHECK(site.step(11).empty());
  CHECK(site.clear(12) ==
        Lines{"office cleared out_of_band@12.00->12.00", "boss cleared out_of_band@12.00->12.00"});
  CHECK(site.step(13).empty());
}

TEST_CASE("Quiet hours hold what can wait until they end, over midnight too") {
  struct Row {
    double at;
    double due;
  };
  for (const Row& row : {Row{21.99, 21.99}, Row{22, 31}, Row{23.5, 31}, Row{24, 31}, Row{30.99, 31},
                         Row{31, 31}, Row{12, 12}}) {
    INFO(row.at);
    Site site;
    site.rules.recipients[0].quiet_hours = kNight;
    const auto lines = site.fire(row.at);
    REQUIRE(lines.size() == 1);
    char due[32];
    std::snprintf(due, sizeof due, "->%.2f", row.due);
    CHECK(lines[0].find(due) != std::string::npos);
    CHECK((lines[0].find("held") != std::string::npos) == (row.due > row.at));
  }
}

TEST_CASE("What is urgent does not wait for the morning") {
  Site site;
  site.rules.recipients[0].quiet_hours = kNight;
  site.rules.urgent = {RuleKind::condensation_risk};
  CHECK(site.fire(23, RuleKind::condensation_risk) ==
        Lines{"office fired condensation_risk@23.00->23.00"});
  CHECK(site.fire(23.5) == Lines{"office fired out_of_band@23.50->31.00 held"});
}

TEST_CASE("Quiet hours end by local clocks in the nights they are put forward and back") {
  // Central Europe: 2026-03-29 01:00Z from +1 h to +2 h, 2026-10-25 01:00Z back.
  const UtcMicros spring = analysis::base::utc_from_rfc3339("2026-03-29T01:00:00Z").value();
  const UtcMicros autumn = analysis::base::utc_from_rfc3339("2026-10-25T01:00:00Z").value();
  const LocalClock clock = [&](UtcMicros at) -> Micros {
    return at >= spring && at < autumn ? hours(2) : hours(1);
  };
  const auto until = [&](const QuietHours& quiet, const char* from) {
    return analysis::base::rfc3339_from_utc(
        quiet_until(quiet, clock, analysis::base::utc_from_rfc3339(from).value()));
  };
  CHECK(until(kNight, "2026-03-28T22:30:00Z") == "2026-03-29T05:00:00Z");
  CHECK(until(kNight, "2026-10-24T22:30:00Z") == "2026-10-25T06:00:00Z");
  CHECK(until(kNight, "2026-02-10T22:30:00Z") == "2026-02-11T06:00:00Z");
  // 02:30 does not exist that night: clocks go from 02:00 to 03:00.
  CHECK(until({minutes(22 * 60), minutes(150)}, "2026-03-28T22:30:00Z") == "2026-03-29T01:00:00Z");
  CHECK(until({minutes(600), minutes(600)}, "2026-03-28T22:30:00Z") == "2026-03-28T22:30:00Z");
}

TEST_CASE("Reminders come until somebody acknowledged, and at most so many") {
  for (const bool acknowledges : {false, true}) {
    Site site;
    site.rules.policy.remind_every = hours(2);
    site.rules.policy.most_reminders = 3;
    site.fire(10);
    Lines seen;
    for (double hour = 10.25; hour < 40; hour += 0.25) {
      if (acknowledges && hour == 13) {
        site.acknowledged.push_back({"out_of_band/hall", at_hour(10)});
      }
      for (const auto& line : site.step(hour)) {
        seen.push_back(line);
      }
    }
    CHECK(seen == (acknowledges ? Lines{"office reminder1 out_of_band@10.00->12.00"}
                                : Lines{"office reminder1 out_of_band@10.00->12.00",
                                        "office reminder2 out_of_band@10.00->14.00",
                                        "office reminder3 out_of_band@10.00->16.00"}));
  }
}

TEST_CASE("An acknowledgement is for one fire alone") {
  Site site;
  site.rules.policy.remind_every = hours(1);
  site.fire(10);
  site.acknowledged.push_back({"out_of_band/hall", at_hour(10)});
  CHECK(site.step(11.5).empty());
  site.clear(12);
  site.fire(13);
  CHECK(site.step(14) == Lines{"office reminder1 out_of_band@13.00->14.00"});
}

TEST_CASE("Good news is not told again, nor what is over") {
  Site site;
  site.rules.policy.remind_every = hours(1);
  site.rules.policy.escalate_after = hours(1);
  site.rules.recipients.push_back({"boss", {}});
  site.rules.escalate_to = "boss";
  site.fire(10, RuleKind::ready);
  site.fire(10, RuleKind::out_of_band);
  site.clear(10.5, RuleKind::out_of_band);
  for (double hour = 11; hour < 20; hour += 0.5) {
    CHECK(site.step(hour).empty());
  }
}

TEST_CASE("Nobody is reminded in quiet hours, and one who has none is") {
  Site site;
  site.rules.policy.remind_every = hours(2);
  site.rules.recipients[0].quiet_hours = kNight;
  site.fire(21);
  for (double hour = 21.25; hour < 31; hour += 0.25) {
    REQUIRE(site.step(hour).empty());
  }
  CHECK(site.step(31) == Lines{"office reminder1 out_of_band@21.00->31.00"});
  Site two;
  two.rules = site.rules;
  two.rules.recipients.push_back({"guard", {}});
  two.fire(21);
  CHECK(two.step(23) == Lines{"guard reminder1 out_of_band@21.00->23.00"});
}

TEST_CASE("A held fire is reminded of from the time it is told") {
  Site site;
  site.rules.policy.remind_every = hours(2);
  site.rules.recipients[0].quiet_hours = kNight;
  site.fire(23);
  CHECK(site.step(31).empty());
  CHECK(site.step(32.9).empty());
  CHECK(site.step(33) == Lines{"office reminder1 out_of_band@23.00->33.00"});
}

TEST_CASE("What nobody acknowledged goes to the second person, who hears of its end") {
  Site site;
  site.rules.recipients.push_back({"boss", {}});
  site.rules.escalate_to = "boss";
  site.rules.policy.escalate_after = hours(3);
  CHECK(site.fire(10) == Lines{"office fired out_of_band@10.00->10.00"});
  CHECK(site.step(12.9).empty());
  CHECK(site.step(13) == Lines{"boss escalation out_of_band@10.00->13.00"});
  CHECK(site.step(14).empty());
  CHECK(site.clear(15) ==
        Lines{"office cleared out_of_band@15.00->15.00", "boss cleared out_of_band@15.00->15.00"});
  // The next one ends before it is escalated: the second person hears nothing.
  site.fire(16);
  CHECK(site.clear(17) == Lines{"office cleared out_of_band@17.00->17.00"});
  site.fire(18);
  site.acknowledged.push_back({"out_of_band/hall", at_hour(18)});
  CHECK(site.step(30).empty());
}

TEST_CASE(
    "The end of what fired before anybody kept account is told to all but the second person") {
  Site site;
  site.rules.recipients.push_back({"boss", {}});
  site.rules.escalate_to = "boss";
  site.alert(RuleKind::out_of_band).state.phase = Phase::firing;
  CHECK(site.step(9).empty());
  CHECK(site.clear(10) == Lines{"office cleared out_of_band@10.00->10.00"});
}

TEST_CASE("What is to be told next is known ahead") {
  Site site;
  CHECK_FALSE(next_telling_at(site.alerts, site.rules, {}));
  site.rules.recipients.push_back({"boss", {}});
  site.rules.escalate_to = "boss";
  site.rules.policy = {hours(4), 6, hours(3), {}};
  site.fire(10);
  CHECK(next_telling_at(site.alerts, site.rules, {}) == at_hour(13));
  site.step(13);
  CHECK(next_telling_at(site.alerts, site.rules, {}) == at_hour(14));
  CHECK_FALSE(next_telling_at(site.alerts, site.rules, {{"out_of_band/hall", at_hour(10)}}));
}

TEST_CASE("The digest comes once a day at its local time, also when the logger came late") {
  TellingPolicy policy;
  CHECK_FALSE(digest_due_at(policy, {{}, at_hour(0)}, no_offset, at_hour(100)));
  policy.digest_at = minutes(7 * 60);
  const LocalClock two_hours_ahead = [](UtcMicros) -> Micros { return hours(2); };
  std::vector<double> moments;
  DigestsSoFar so_far{{}, at_hour(6)};
  for (double hour = 6; hour < 6 + 4 * 24; hour += 0.5) {
    if (hour > 40 && hour < 60) {
      continue;  // it does not run
    }
    if (const auto due = digest_due_at(policy, so_far, two_hours_ahead, at_hour(hour))) {
      so_far.newest = *due;
      moments.push_back(hour_of(*due));
    }
  }
  CHECK(moments == std::vector<double>{29, 53, 77, 101});
}
