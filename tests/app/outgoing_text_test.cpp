// What a person or a program gets of one delivery, and of several that quiet hours held.
#include "logger/notify/outgoing_text.hpp"

#include <catch2/catch.hpp>
#include <sstream>

#include "logger/notify/alert_json.hpp"

using namespace logger::notify;
using analysis::alerts::RuleKind;
using analysis::alerts::Transition;
using logger::store::Delivery;

namespace {

constexpr UtcMicros kAt{1'772'352'000'000'000};  // 2026-03-01T08:00:00Z

Delivery delivery_of(const std::string& kind, int number = 0, bool simulated = false) {
  AlertContext context;
  context.job_name = "Mill Lane 4";
  context.simulated = simulated;
  context.room_name = "Living room";
  context.verdict = "not ready";
  context.number = number;
  Delivery delivery;
  delivery.id = 17;
  delivery.recipient = "office";
  delivery.kind = kind;
  delivery.alert_key = "out_of_band/living-room";
  delivery.at = delivery.due_at = kAt;
  delivery.number = number;
  delivery.payload_json = json_from_alert(
      {RuleKind::out_of_band,
       "living-room",
       kind == "cleared" ? Transition::cleared : Transition::fired,
       kAt,
       "living-room: room air out of band: 16.2 °C (band 17.0 to 23.0 °C), 38.4 %RH & <more>",
       {}},
      context);
  return delivery;
}

}  // namespace

TEST_CASE("The subject says room and verdict first, then what it is about") {
  CHECK(outgoing_from({delivery_of("fired")}).subject == "Living room: NOT READY, air out of band");
  CHECK(outgoing_from({delivery_of("cleared")}).subject ==
        "Living room: NOT READY, air back in band");
  CHECK(outgoing_from({delivery_of("reminder", 2)}).subject ==
        "Living room: NOT READY, REMINDER 2, air out of band");
  CHECK(outgoing_from({delivery_of("escalation")}).subject ==
        "Living room: NOT READY, NOBODY ANSWERED, air out of band");
  CHECK(outgoing_from({delivery_of("fired", 0, true)}).subject ==
        "SIMULATED Living room: NOT READY, air out of band");
}

TEST_CASE("A message is the same at every attempt, and for programs what was planned") {
  Delivery delivery = delivery_of("fired");
  const Outgoing first = outgoing_from({delivery});
  delivery.attempts = 3;
  delivery.last_error = "timeout";
  const Outgoing second = outgoing_from({delivery});
  CHECK(first.id == second.id);
  CHECK(first.text == second.text);
  CHECK(first.json == delivery.payload_json);
  CHECK(first.kind == "transition");
  CHECK(first.at == kAt);
  delivery.id = 18;
  CHECK(outgoing_from({delivery}).id != first.id);
  CHECK(outgoing_from({delivery_of("reminder", 1)}).kind == "reminder");
}

TEST_CASE("A reminder is dated with its own time, and names that of the alert in its text") {
  for (const char* kind : {"reminder", "escalation"}) {
    Delivery delivery = delivery_of(kind, 1);
    delivery.due_at = kAt + std::chrono::hours(2);
    const Outgoing message = outgoing_from({delivery});
    CHECK(message.at == delivery.due_at);
    CHECK(message.text.find("2026-03-01 08:00") != std::string::npos);
  }
  Delivery held = delivery_of("fired");
  held.due_at = kAt + std::chrono::hours(2);
  CHECK(outgoing_from({held}).at == kAt);
}

TEST_CASE("A text that comes late says since when it waited") {
  const Delivery delivery = delivery_of("fired");
  const auto text = [&](std::chrono::minutes after) {
    return outgoing_from({delivery}, kAt + after).text;
  };
  CHECK(text(std::chrono::minutes(60)) == outgoing_from({delivery}).text);
  CHECK(text(std::chrono::minutes(61)).find("(waited since") != std::string::npos);
  CHECK(outgoing_from({delivery}, kAt + std::chrono::hours(2)).json == delivery.payload_json);
}

TEST_CASE("Lines of the text are short, and the HTML holds no mark-up of the text") {
  const Outgoing message = outgoing_from({delivery_of("reminder", 2)});
  CHECK(message.text.find("REMINDER 2, nobody has acknowledged it yet:\n") == 0);
  CHECK(message.text.find("alert out_of_band/living-room") != std::string::npos);
  std::istringstream lines(message.text);
  for (std::string line; std::getline(lines, line);) {
    CHECK(line.size() <= 80);  // a degree sign has two bytes
  }
  CHECK(message.html.find("&amp; &lt;more&gt;") != std::string::npos);
  CHECK(message.html.find("<more>") == std::string::npos);
}

TEST_CASE("What was held goes out as one, with all of it for programs") {
  Delivery later = delivery_of("cleared");
  later.id = 18;
  const Outgoing joined = outgoing_from({delivery_of("fired"), later});
  CHECK(joined.subject == "Living room: NOT READY, air out of band (+1 more)");
  CHECK(joined.id.find("17+18.") == 0);
  CHECK(joined.kind == "held");
  CHECK(joined.json.find(R"("format":"dwellog-digest/1")") != std::string::npos);
  CHECK(joined.json.find(R"("transition":"fired")") != std::string::npos);
  CHECK(joined.json.find(R"("transition":"cleared")") != std::string::npos);
  CHECK(joined.json.find('\n') == std::string::npos);
}

TEST_CASE("A long room name is cut between characters") {
  Delivery delivery = delivery_of("fired");
  const std::string name = "Living room";
  std::string longer;
  for (int i = 0; i < 40; ++i) {
    longer += "ö";
  }
  delivery.payload_json.replace(delivery.payload_json.find(name), name.size(), longer);
  const std::string subject = outgoing_from({delivery}).subject;
  CHECK(subject.size() <= 70);
  CHECK(subject.substr(subject.size() - 3) == "...");
  CHECK((static_cast<unsigned char>(subject[subject.size() - 4]) & 0xC0U) == 0x80U);
}

TEST_CASE(
    "The subject says that the floor is laid, and never that a room came back in band by that") {
  const auto subject_of = [](RuleKind kind, Transition transition) {
    AlertContext context;
    context.room_name = "Hall";
    context.verdict = kLaidVerdict;
    AlertMessage message{kind, "hall", transition, kAt, "text", {}};
    Delivery delivery;
    delivery.kind = std::string(name_of(transition));
    delivery.payload_json = json_from_alert(message, context);
    return outgoing_from({delivery}).subject;
  };
  CHECK(subject_of(RuleKind::out_of_band, Transition::cleared) ==
        "Hall: LAID, air out of band: ended, it is laid");
  CHECK(subject_of(RuleKind::condensation_risk, Transition::cleared) ==
        "Hall: LAID, no condensation");
  CHECK(subject_of(RuleKind::service_climate, Transition::fired) ==
        "Hall: LAID, air outside the climate to keep");
}

TEST_CASE("A digest says every room and what fires") {
  Delivery delivery;
  delivery.id = 3;
  delivery.recipient = "office";
  delivery.kind = "digest";
  delivery.at = delivery.due_at = kAt;
  delivery.payload_json = json_from_digest(
      {"Mill Lane 4",
       false,
       kAt,
       {{"hall", "Hall", "ready", 50.0, 0.0}, {"attic", "Attic", "cannot tell", 3.25, 44.75}},
       {{"probe_silent/box-1", "box-1: no sample for 2 h", true}}});
  const Outgoing message = outgoing_from({delivery});
  CHECK(message.kind == "digest");
  CHECK(message.subject == "Hall: READY; Attic: CANNOT TELL (daily)");
  CHECK(message.text.find("Attic: CANNOT TELL, 3.2 h in band done, 44.8 h to go") !=
        std::string::npos);
  CHECK(message.text.find("- box-1: no sample for 2 h (acknowledged)") != std::string::npos);
  CHECK(message.json == delivery.payload_json);
}

TEST_CASE("A digest says of a floor that it is being laid, or lies and how its air is") {
  Delivery delivery;
  delivery.kind = "digest";
  delivery.at = delivery.due_at = kAt;
  delivery.payload_json =
      json_from_digest({"Mill Lane 4",
                        false,
                        kAt,
                        {{"hall", "Hall", "ready", 50.0, 0.0, "laid", "too dry"},
                         {"attic", "Attic", "not ready", 3.25, 44.75, "being laid", ""}},
                        {}});
  const Outgoing message = outgoing_from({delivery});
  CHECK(message.subject == "Hall: LAID; Attic: BEING LAID (NOT READY) (daily)");
  CHECK(
      message.text.starts_with("Hall: LAID, its air: too dry\n"
                               "Attic: BEING LAID (NOT READY), 3.2 h in band done"));
}

TEST_CASE("Hours done and hours left add up as shown, and none is said that is not done") {
  Delivery delivery;
  delivery.kind = "digest";
  delivery.at = delivery.due_at = kAt;
  delivery.payload_json = json_from_digest({"Mill Lane 4",
                                            false,
                                            kAt,
                                            {{"hall", "Hall", "not ready", 0.06, 47.94},
                                             {"attic", "Attic", "not ready", 0.1 + 0.2, 47.7}},
                                            {}});
  const std::string text = outgoing_from({delivery}).text;
  CHECK(text.find("Hall: NOT READY, 0.0 h in band done, 48.0 h to go") != std::string::npos);
  CHECK(text.find("Attic: NOT READY, 0.3 h in band done, 47.7 h to go") != std::string::npos);
}

TEST_CASE("A payload that can't be read still goes out") {
  Delivery delivery = delivery_of("fired");
  delivery.payload_json = "not json";
  CHECK(outgoing_from({delivery}).text.find("out_of_band/living-room") != std::string::npos);
}
