#include "analysis/readiness/site/site_answers.hpp"

#include "analysis/readiness/site/answer_parts.hpp"

namespace analysis::readiness {
namespace {

constexpr std::string_view kAsbestosSource =
    "common practice; asbestos in floor coverings: 29 CFR 1926.1101 (from memory); silica dust: 29 "
    "CFR 1926.1153 (from memory)";
constexpr std::string_view kSilicaSource =
    "common practice; silica dust: 29 CFR 1926.1153 (from memory)";
constexpr std::string_view kAskMaker = "ask the floor's maker for a written approval and note it";

struct AnswerRow {
  SiteGate gate;
  SiteChoice choice;
  GateState state;
  bool approval_counts;
  std::string_view why;
  std::string_view action;
  std::string_view source;
};

constexpr AnswerRow met_row(SiteGate gate, SiteChoice choice, std::string_view why) {
  return {gate, choice, GateState::met, false, why, "", kPractice};
}

constexpr auto kNotMet = GateState::not_met;
constexpr auto kOpen = GateState::unknown;

constexpr std::string_view kDryRoom = "a dry, heated living space suits a floating floor";
constexpr std::string_view kWetRoom =
    "water on the floor or steam gets into the joints of wood-based panels and swells them";
constexpr std::string_view kNothingBelow = "nothing in the floor warms the panels";
constexpr std::string_view kNothingLeft = "nothing is left from an older floor";

constexpr AnswerRow kRows[] = {
    met_row(SiteGate::room_kind, {"living", "living or dining room"}, kDryRoom),
    met_row(SiteGate::room_kind, {"bedroom", "bedroom"}, kDryRoom),
    met_row(SiteGate::room_kind, {"office", "office or shop"}, kDryRoom),
    met_row(SiteGate::room_kind, {"hall", "hall, corridor, stair landing"}, kDryRoom),
    met_row(SiteGate::room_kind, {"kitchen", "kitchen"},
            "a kitchen suits as long as spills are wiped up at once"),
    {SiteGate::room_kind,
     {"cellar", "cellar or basement"},
     kOpen,
     true,
     "below ground, walls and slab may bring water in from outside at any time",
     kAskMaker,
     kPractice},
    {SiteGate::room_kind,
     {"conservatory", "conservatory or unheated room"},
     kOpen,
     true,
     "sun and cold take such a room far out of the climate that the panels stand",
     kAskMaker,
     kPractice},
    {SiteGate::room_kind,
     {"bathroom", "bathroom or shower room"},
     kNotMet,
     true,
     kWetRoom,
     kAskMaker,
     kPractice},
    {SiteGate::room_kind, {"laundry", "laundry"}, kNotMet, true, kWetRoom, kAskMaker, kPractice},
    {SiteGate::room_kind,
     {"sauna", "sauna"},
     kNotMet,
     false,
     kWetRoom,
     "choose another kind of floor",
     kPractice},
    {SiteGate::room_kind,
     {"floor_drain", "any room with a floor drain"},
     kNotMet,
     false,
     "a floor drain is there because water is expected, and a floating floor would close it",
     "choose another kind of floor",
     kPractice},
    {SiteGate::room_kind,
     {"flood_risk", "any room that may be flooded"},
     kNotMet,
     false,
     "water under a floating floor can't be dried without taking it up",
     "choose another kind of floor",
     kPractice},

    met_row(SiteGate::heating_kind, {"none", "none"}, kNothingBelow),
    met_row(SiteGate::heating_kind, {"radiators", "radiators or stove"}, kNothingBelow),
    met_row(SiteGate::heating_kind, {"air", "warm air or heat pump in the room"}, kNothingBelow),
    {SiteGate::heating_kind,
     {"water", "warm water in the floor"},
     kOpen,
     true,
     "over warm water in the floor the supplier's special instructions apply: heating-up record, "
     "highest surface temperature, underlay",
     "ask the floor's supplier for them and note their source",
     kPractice},
    {SiteGate::heating_kind,
     {"electric", "electric mats or foils in the floor"},
     kNotMet,
     true,
     "electric heating in the floor is not recommended: it heats fast and unevenly, most under "
     "rugs and furniture",
     kAskMaker,
     kPractice},

    met_row(SiteGate::clean, {"clean", "vacuumed, no dust, no lumps"},
            "nothing hard is left under the underlay"),
    {SiteGate::clean,
     {"dusty", "dust or sand"},
     kNotMet,
     false,
     "sand grinds under the underlay and is heard at every step",
     "vacuum it; no dry sweeping of concrete dust, which holds silica",
     kSilicaSource},
    {SiteGate::clean,
     {"dirty", "lumps of plaster, paint or mortar"},
     kNotMet,
     false,
     "a lump holds the panels up and works their joints",
     "scrape it off and vacuum; grinding makes silica dust: wet, or with extraction, and a mask",
     kSilicaSource},

    met_row(SiteGate::solid, {"solid", "nothing loose, springy or cracked"},
            "the base carries the panels everywhere"),
    {SiteGate::solid,
     {"springy", "boards or sheets that give or squeak"},
     kNotMet,
     false,
     "a base that gives works the joints until they open",
     "screw it down, stiffen what gives",
     kPractice},
    {SiteGate::solid,
     {"loose", "loose tiles, hollow or crumbling screed"},
     kNotMet,
     false,
     "what is loose moves under load",
     "take it out and fill; a structural doubt goes to an engineer",
     kPractice},
    {SiteGate::solid,
     {"cracked", "cracks that are open or uneven"},
     kNotMet,
     false,
     "a crack may still move, and its edges may stand at two heights",
     "have it looked at, then close it with resin; level the edges",
     kPractice},

    met_row(SiteGate::old_glue_removed, {"never_any", "there never was a covering"}, kNothingLeft),
    met_row(SiteGate::old_glue_removed, {"removed", "removed, no glue or staples left"},
            kNothingLeft),
    {SiteGate::old_glue_removed,
     {"staples", "staples, nails or carpet strips are left"},
     kNotMet,
     false,
     "they stand up and tear underlay and barrier",
     "pull or drive them in",
     kPractice},
    {SiteGate::old_glue_removed,
     {"glue", "glue is left, known to be free of asbestos"},
     kNotMet,
     false,
     "ridges of glue hold the panels up, and some glues soften plastics",
     "scrape it off; grinding makes dust: with extraction and a mask",
     kAsbestosSource},
    {SiteGate::old_glue_removed,
     {"untested", "old resilient floor or black glue, not tested"},
     kNotMet,
     false,
     "old resilient floors and black adhesive may hold asbestos",
     "leave it as it is; have it tested before anybody breaks, scrapes or grinds it",
     kAsbestosSource},
    {SiteGate::old_glue_removed,
     {"stays", "an old floor stays below, sound and firm"},
     kOpen,
     true,
     "whether a floating floor may lie on an old one, its instructions say",
     kAskMaker,
     kPractice},

    met_row(SiteGate::conditioned, {"running", "closed, heating and ventilation run for good"},
            "the climate that the panels take on is the one they will live in"),
    {SiteGate::conditioned,
     {"temporary", "closed, with temporary heaters"},
     kOpen,
     true,
     "temporary heat ends and the panels move with the climate after it; fuel-burning heaters add "
     "water, and carbon monoxide",
     "get the permanent heating running, or note who accepts temporary heat",
     kPractice},
    {SiteGate::conditioned,
     {"off", "not running, or the building is open"},
     kNotMet,
     false,
     "panels that were laid in another climate move when the heating starts",
     "close the building and run heating and ventilation first",
     kPractice}};

struct QuestionRow {
  SiteGate gate;
  std::string_view option;
  std::string_view asks;
  std::string_view why;
};
constexpr QuestionRow kQuestionRows[] = {
    {SiteGate::room_kind, "--use", "What is the room used for?",
     "wood-based panels swell where water stands or steam comes"},
    {SiteGate::heating_kind, "--heating", "How is the room heated?",
     "heat in the floor dries and moves the panels from below"},
    {SiteGate::clean, "--found", "Is the subfloor clean and free of dust?",
     "what lies under the underlay is heard and works the joints"},
    {SiteGate::solid, "--found", "Is the subfloor solid everywhere?",
     "panels follow what moves below them until their joints open"},
    {SiteGate::old_glue_removed, "--found", "What is left of an older covering?",
     "ridges hold the panels up; old coverings may hold asbestos"},
    {SiteGate::conditioned, "--found", "Does the building have its lasting climate?",
     "panels settle to the air they lie in before they are laid"}};

}  // namespace

SiteAnswer with_approval(SiteAnswer answer, std::string_view approval) {
  if (!answer.approval_counts || approval.empty()) {
    return answer;
  }
  answer.state = GateState::met;
  answer.why = std::string(kAllowedInWriting) + std::string(approval);
  answer.action.clear();
  answer.source = std::string(approval);
  return answer;
}

std::optional<SiteQuestion> site_question_of(SiteGate gate) {
  if (gate == SiteGate::vapour_barrier) {
    return barrier_question();
  }
  for (const QuestionRow& row : kQuestionRows) {
    if (row.gate != gate) {
      continue;
    }
    SiteQuestion question{row.gate, row.option, row.asks, row.why, {}};
    for (const AnswerRow& answer : kRows) {
      if (answer.gate == gate) {
        question.choices.push_back(answer.choice);
      }
    }
    return question;
  }
  return std::nullopt;
}

std::optional<SiteAnswer> site_answer_from(SiteGate gate, std::string_view word,
                                           std::string_view approval) {
  for (const AnswerRow& row : kRows) {
    if (row.gate != gate || row.choice.word != word) {
      continue;
    }
    return with_approval({row.state, std::string(row.choice.text), std::string(row.why),
                          std::string(row.action), std::string(row.source), row.approval_counts},
                         approval);
  }
  return std::nullopt;
}

}  // namespace analysis::readiness
