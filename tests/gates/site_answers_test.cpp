// What answers mean for a gate.
#include "analysis/readiness/site/site_answers.hpp"

#include <catch2/catch.hpp>

namespace {

using namespace analysis::readiness;

GateState state_of(SiteGate gate, std::string_view word, std::string_view approval = "") {
  const auto answer = site_answer_from(gate, word, approval);
  REQUIRE(answer.has_value());
  return answer->state;
}
GateState barrier_state(SubfloorKind below, std::string_view barrier,
                        std::string_view approval = "") {
  const auto answer = barrier_answer_from(below, barrier, approval);
  REQUIRE(answer.has_value());
  return answer->state;
}
constexpr std::string_view kPaper = "maker's letter of 2 March";

}  // namespace

TEST_CASE("WetRoomsAreNotMetAndDryOnesAre") {
  for (const auto* word : {"living", "bedroom", "office", "hall", "kitchen"}) {
    CHECK(state_of(SiteGate::room_kind, word) == GateState::met);
  }
  for (const auto* word : {"bathroom", "laundry", "sauna", "floor_drain", "flood_risk"}) {
    CHECK(state_of(SiteGate::room_kind, word) == GateState::not_met);
  }
  CHECK(state_of(SiteGate::room_kind, "cellar") == GateState::unknown);
  CHECK_FALSE(site_answer_from(SiteGate::room_kind, "roof", "").has_value());
}

TEST_CASE("AnApprovalOpensOnlyWhatAMakerCanAllow") {
  CHECK(state_of(SiteGate::room_kind, "bathroom", kPaper) == GateState::met);
  CHECK(state_of(SiteGate::room_kind, "sauna", kPaper) == GateState::not_met);
  CHECK(state_of(SiteGate::room_kind, "flood_risk", kPaper) == GateState::not_met);
  const auto answer = site_answer_from(SiteGate::room_kind, "cellar", kPaper);
  CHECK(answer->state == GateState::met);
  CHECK(answer->source == kPaper);
  CHECK(answer->action.empty());
}

TEST_CASE("HeatInTheFloorStaysOpenOrClosedUntilItIsAllowed") {
  for (const auto* word : {"none", "radiators", "air"}) {
    CHECK(state_of(SiteGate::heating_kind, word) == GateState::met);
  }
  CHECK(state_of(SiteGate::heating_kind, "water") == GateState::unknown);
  CHECK(state_of(SiteGate::heating_kind, "water", kPaper) == GateState::met);
  CHECK(state_of(SiteGate::heating_kind, "electric") == GateState::not_met);
  CHECK(state_of(SiteGate::heating_kind, "electric", kPaper) == GateState::met);
}

TEST_CASE("ABarrierBelongsOverMineralBases") {
  for (const auto kind :
       {SubfloorKind::concrete, SubfloorKind::screed, SubfloorKind::tile, SubfloorKind::stone}) {
    CHECK(barrier_over(kind).needed);
    CHECK_FALSE(barrier_over(kind).maker_decides);
    CHECK(barrier_state(kind, "present") == GateState::met);
    CHECK(barrier_state(kind, "built_in") == GateState::met);
    CHECK(barrier_state(kind, "none") == GateState::not_met);
    CHECK(barrier_state(kind, "none", kPaper) == GateState::not_met);
    CHECK(barrier_state(kind, "both") == GateState::not_met);
  }
}

TEST_CASE("OverACrawlSpaceTheInstructionsDecide") {
  CHECK(barrier_over(SubfloorKind::crawl_space).needed);
  CHECK(barrier_over(SubfloorKind::crawl_space).maker_decides);
  const auto there = barrier_answer_from(SubfloorKind::crawl_space, "present", "");
  CHECK(there->state == GateState::met);
  CHECK(there->action.find("ventilated") != std::string::npos);
  CHECK(barrier_state(SubfloorKind::crawl_space, "none") == GateState::unknown);
  CHECK(barrier_state(SubfloorKind::crawl_space, "none", kPaper) == GateState::met);
}

TEST_CASE("OverUpperTimberNoneIsNeeded") {
  CHECK_FALSE(barrier_over(SubfloorKind::timber).needed);
  CHECK(barrier_state(SubfloorKind::timber, "none") == GateState::met);
  CHECK(barrier_state(SubfloorKind::timber, "both", kPaper) == GateState::not_met);
  CHECK(barrier_state(SubfloorKind::timber, "present") == GateState::unknown);
  CHECK(barrier_state(SubfloorKind::timber, "present", kPaper) == GateState::met);
}

TEST_CASE("OldCoveringsWarnOfAsbestosAndGrindingOfDust") {
  const auto untested = site_answer_from(SiteGate::old_glue_removed, "untested", "");
  CHECK(untested->state == GateState::not_met);
  CHECK(untested->why.find("asbestos") != std::string::npos);
  CHECK(untested->action.find("tested before") != std::string::npos);
  CHECK(site_answer_from(SiteGate::clean, "dirty", "")->action.find("silica") != std::string::npos);
}

TEST_CASE("EveryChoiceOfEveryQuestionHasAnAnswerWithReasonAndSource") {
  for (const SiteGate gate : all_site_gates()) {
    const auto question = site_question_of(gate);
    REQUIRE(question.has_value() == (gate != SiteGate::flat));
    for (std::size_t i = 0; question && i < question->choices.size(); ++i) {
      const SiteChoice& choice = question->choices[i];
      INFO(choice.word);
      const auto answer = gate == SiteGate::vapour_barrier
                              ? barrier_answer_from(SubfloorKind::screed, choice.word, "")
                              : site_answer_from(gate, choice.word, "");
      REQUIRE(answer.has_value());
      CHECK_FALSE(answer->why.empty());
      CHECK_FALSE(answer->source.empty());
      CHECK((answer->state == GateState::met) == answer->action.empty());
      CHECK(answer->why.find("safe") == std::string::npos);
    }
  }
}

TEST_CASE("SubfloorNamesReadBack") {
  REQUIRE(subfloor_kind_names().size() == 6);
  for (const std::string_view name : subfloor_kind_names()) {
    REQUIRE(subfloor_kind_from_name(name).has_value());
    CHECK(name_of(*subfloor_kind_from_name(name)) == name);
  }
  CHECK_FALSE(subfloor_kind_from_name("sand").has_value());
}
