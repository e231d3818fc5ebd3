#include "analysis/readiness/verdict.hpp"

#include <catch2/catch.hpp>
#include <functional>
#include <set>

#include "analysis/readiness/reason_texts.hpp"
#include "tests/readiness/ready_room.hpp"

using namespace ready_room;

namespace {

struct Spoiled {
  std::string what;
  std::function<void(RoomEvidence&)> spoil;
  std::set<std::string> gates;  // that must not be met afterwards
};

// Every input of a verdict taken away in turn.
std::vector<Spoiled> inputs_taken_away() {
  std::vector<Spoiled> cases{
      {"delivery", [](RoomEvidence& r) { r.delivered_at.reset(); }, {"delivery", "dwell"}},
      {"slab pour", [](RoomEvidence& r) { r.slab_poured_at.reset(); }, {"slab_age"}},
      {"dwell", [](RoomEvidence& r) { r.dwell = {}; }, {"dwell", "evidence"}},
      {"channels",
       [](RoomEvidence& r) { r.channels.clear(); },
       {"stack_core", "slab", "condensation", "evidence"}},
      {"notes", [](RoomEvidence& r) { r.site_gates.clear(); }, {"site.flat", "site.conditioned"}},
      {"slab placed",
       [](RoomEvidence& r) { channel_of(r, "slab-rh").placed_at.reset(); },
       {"slab"}},
  };
  const std::pair<std::string, std::set<std::string>> users[] = {
      {"air-t", {"stack_core", "condensation", "evidence"}},
      {"air-rh", {"condensation", "evidence"}},
      {"core-t", {"stack_core"}},
      {"slab-t", {"condensation"}},
      {"slab-rh", {"slab"}}};
  for (const auto& user : users) {
    const std::string id = user.first;
    cases.push_back({id + " away", [id](RoomEvidence& r) { remove_channel(r, id); }, user.second});
    cases.push_back({id + " readings", [id](RoomEvidence& r) { channel_of(r, id).recent = {}; },
                     id.starts_with("air") ? std::set<std::string>{"condensation"} : user.second});
    cases.push_back({id + " last good",
                     [id](RoomEvidence& r) { channel_of(r, id).last_good.reset(); }, user.second});
    cases.push_back({id + " never seen",
                     [id](RoomEvidence& r) { channel_of(r, id).last_seen_at.reset(); },
                     {"evidence"}});
    cases.push_back({id + " calibration",
                     [id](RoomEvidence& r) { channel_of(r, id).calibration_due_at.reset(); },
                     {"evidence"}});
  }
  return cases;
}

std::string all_text(const RoomAssessment& assessment) {
  std::string text;
  for (const GateResult& gate : assessment.gates) {
    text += gate.reason + " " + gate.action + "\n";
  }
  return text;
}

}  // namespace

TEST_CASE("ARoomWithEveryGateMetIsReady") {
  const RoomAssessment assessment = assess_room(requirements(), evidence());
  CHECK(assessment.verdict == Verdict::ready);
  std::vector<std::string> ids;
  for (const GateResult& gate : assessment.gates) {
    ids.push_back(gate.id);
    INFO(gate.id << ": " << gate.reason);
    CHECK(gate.state == GateState::met);
    CHECK_FALSE(gate.reason.empty());
    CHECK(gate.action.empty());
  }
  CHECK(ids == std::vector<std::string>{"delivery", "dwell", "stack_core", "slab", "slab_age",
                                        "condensation", "evidence", "site.room_kind",
                                        "site.heating_kind", "site.flat", "site.clean",
                                        "site.solid", "site.old_glue_removed",
                                        "site.vapour_barrier", "site.conditioned"});
  CHECK(assessment.at == kNow);
  CHECK(assessment.dwell_done_hours == 50.0);
  CHECK(assessment.dwell_left_hours == 0.0);
  CHECK(assessment.dwell_done_at == evidence().dwell.done_at);
  CHECK_FALSE(assessment.dwell_expected_at.has_value());
}

TEST_CASE("AMissingInputNeverMeetsAGateAndNeverMakesReady") {
  for (const Spoiled& spoiled : inputs_taken_away()) {
    INFO(spoiled.what);
    RoomEvidence room = evidence();
    spoiled.spoil(room);
    const RoomAssessment assessment = assess_room(requirements(), room);
    CHECK(assessment.verdict == Verdict::cannot_tell);
    for (const std::string& id : spoiled.gates) {
      INFO(id);
      const GateResult gate = gate_of(assessment, id);
      CHECK(gate.state == GateState::unknown);
      CHECK_FALSE(gate.reason.empty());
      CHECK_FALSE(gate.action.empty());
    }
  }
}

TEST_CASE("OneGateNotMetMakesNotReadyWhateverIsUnknown") {
  RoomEvidence room = evidence();
  room.site_gates[0].met = false;
  room.delivered_at.reset();
  CHECK(assess_room(requirements(), room).verdict == Verdict::not_ready);
}

TEST_CASE("AnEmptyRoomCannotBeTold") {
  RoomEvidence nothing;
  nothing.now = kNow;
  const RoomAssessment assessment = assess_room(requirements(), nothing);
  CHECK(assessment.verdict == Verdict::cannot_tell);
  for (const GateResult& gate : assessment.gates) {
    INFO(gate.id);
    CHECK(gate.state == GateState::unknown);
  }
  CHECK(assessment.dwell_left_hours == 48.0);
}

TEST_CASE("ExpectedEndIsKnownOnlyWhileTheRoomCounts") {
  RoomEvidence room = evidence();
  room.dwell.done_at.reset();
  room.dwell.in_band_seconds = 40.0 * 3600.0;
  CHECK(assess_room(requirements(), room).dwell_expected_at == kNow + micros_from_hours(8));
  room.dwell.previous->at = kNow - micros_from_hours(0.5);
  CHECK(assess_room(requirements(), room).dwell_expected_at == kNow + micros_from_hours(7.5));
  room.dwell.previous->at = kNow - micros_from_hours(0.8);  // the next reading is overdue
  CHECK_FALSE(assess_room(requirements(), room).dwell_expected_at.has_value());
  room.dwell.previous->at = kNow;
  room.dwell.counting = false;
  CHECK_FALSE(assess_room(requirements(), room).dwell_expected_at.has_value());
}

TEST_CASE("TextsPromiseNothingAndLeaveNoPlaceholder") {
  std::string text;
  for (int key = 0; key <= static_cast<int>(kLastReasonKey); ++key) {
    const ReasonText texts = text_from(static_cast<ReasonKey>(key), {});
    text += texts.reason + " " + texts.action + "\n";
  }
  for (const SiteGate gate : all_site_gates()) {
    text += question_of(gate, {}) + "\n";
  }
  for (const std::string forbidden : {"safe", "Safe", "guarant", "Guarant", "warrant", "equilib"}) {
    INFO(forbidden);
    CHECK(text.find(forbidden) == std::string::npos);
  }
  // Assessments fill every placeholder.
  std::string filled = all_text(assess_room(requirements(), evidence()));
  for (const Spoiled& spoiled : inputs_taken_away()) {
    RoomEvidence room = evidence();
    spoiled.spoil(room);
    filled += all_text(assess_room(requirements(), room));
  }
  for (const double value : {-5.0, 5.0, 35.0, 0.9}) {
    for (const std::string id : {"air-t", "core-t", "slab-t", "slab-rh"}) {
      RoomEvidence room = evidence();
      set_readings(room, id, value);
      filled += all_text(assess_room(requirements(), room));
    }
  }
  CHECK(filled.find_first_of("{}") == std::string::npos);
}

TEST_CASE("ReasonsNameTheSourceOfTheLimit") {
  FloorRequirements required = requirements();
  required.dwell.source = "floor sheet p. 3";
  required.slab->rh_high.source = "floor sheet p. 5";
  required.condensation_margin.source = "site rules";
  const RoomAssessment assessment = assess_room(required, evidence());
  CHECK(gate_of(assessment, "dwell").reason.find("(floor sheet p. 3)") != std::string::npos);
  CHECK(gate_of(assessment, "slab").reason.find("(floor sheet p. 5)") != std::string::npos);
  CHECK(gate_of(assessment, "condensation").reason.find("(site rules)") != std::string::npos);
}

TEST_CASE("NumbersAreWrittenTheSameEverywhere") {
  CHECK(text_from_celsius(Celsius{16.24}) == "16.2 °C");
  CHECK(text_from_celsius(Celsius{-0.04}) == "0.0 °C");
  CHECK(text_from_celsius(Celsius{-12.36}) == "-12.4 °C");
  CHECK(text_from_rh(RelativeHumidity{0.473}) == "47.3 %RH");
  CHECK(text_from_kelvin(analysis::base::KelvinDelta{2.728}) == "2.7 K");
  CHECK(text_from_hours_done(41.39) == "41.3 h");
  CHECK(text_from_hours_done(47.9999999999) == "48.0 h");
  CHECK(text_from_hours_left(6.61) == "6.7 h");
  CHECK(text_from_hours_left(6.6) == "6.6 h");
  CHECK(text_from_share(0.0312) == "3.1 %");
  CHECK(text_from_days(micros_from_hours(1439.9)) == "59.9 days");
  CHECK(decimals_between(75.04, 75.0) == 2);
  CHECK(decimals_between(75.0, 75.0) == 3);
  CHECK(decimals_between(76.0, 75.0) == 1);
}

TEST_CASE("NamesOfVerdictsGatesAndSiteGates") {
  CHECK(name_of(Verdict::ready) == "ready");
  CHECK(name_of(Verdict::not_ready) == "not ready");
  CHECK(name_of(Verdict::cannot_tell) == "cannot tell");
  CHECK(name_of(GateState::met) == "met");
  CHECK(name_of(GateState::not_met) == "not met");
  CHECK(name_of(GateState::unknown) == "unknown");
  CHECK(all_site_gates().size() == 8);
  for (const SiteGate gate : all_site_gates()) {
    CHECK(site_gate_from_name(name_of(gate)) == gate);
    CHECK(question_of(gate, {}).ends_with('?'));
  }
  CHECK_FALSE(site_gate_from_name("flatt").has_value());
}
