#include <array>

#include "analysis/readiness/site/answer_parts.hpp"

namespace analysis::readiness {
namespace {

constexpr std::array<std::string_view, 6> kSubfloorNames{"concrete", "screed",      "tile",
                                                         "stone",    "crawl_space", "timber"};

constexpr BarrierNeed kOverMineral{
    true, false,
    "concrete, screed, tile and stone pass water vapour up from below for years, whatever their "
    "age, so a vapour barrier lies under the underlay",
    "common practice, no source; ASTM F710 asks for a vapour retarder under slabs on or below "
    "grade (from a summary)"};
constexpr BarrierNeed kOverCrawlSpace{
    true, true,
    "over a crawl space a vapour barrier is common too, but ground cover and ventilation of the "
    "crawl space come first, and over timber the floor's instructions decide",
    "common practice, no source; ground cover and vents: International Residential Code, R408 "
    "(from memory)"};
constexpr BarrierNeed kOverTimber{
    false, false,
    "over an upper timber floor none is needed: it could hold water in the wood below", kPractice};

std::string spoken_name_of(SubfloorKind kind) {
  return kind == SubfloorKind::crawl_space ? "a crawl space" : std::string(name_of(kind));
}

struct BarrierChoice {
  SiteChoice choice;
  int barriers;  // how many lie there
};
constexpr BarrierChoice kBarrierChoices[] = {
    {{"present", "a film of its own, lapped, taped and turned up at the walls"}, 1},
    {{"built_in", "the underlay has one built in, its seams taped"}, 1},
    {{"none", "none"}, 0},
    {{"both", "both: a film and an underlay with one built in"}, 2}};

SiteAnswer closed(std::string why, std::string action, const BarrierNeed& need) {
  return {GateState::not_met, "", std::move(why), std::move(action), std::string(need.source)};
}

SiteAnswer barrier_answer(const BarrierNeed& need, int barriers) {
  if (barriers > 1) {
    return closed("two barriers hold water between them", "leave one out", need);
  }
  const bool there = barriers == 1;
  if (there == need.needed && !need.maker_decides) {
    return {GateState::met, "", std::string(need.why), "", std::string(need.source)};
  }
  if (need.needed && !need.maker_decides) {
    return closed(std::string(need.why),
                  "lay one, seams lapped and taped, edges turned up at the walls", need);
  }
  SiteAnswer open{GateState::unknown, "", std::string(need.why),
                  "ask what the floor's instructions say of it and note that",
                  std::string(need.source)};
  if (need.needed && there) {
    open.state = GateState::met;
    open.action = "see that the ground of the crawl space is covered and that it is ventilated";
  } else {
    open.approval_counts = true;
  }
  return open;
}

}  // namespace

std::string_view name_of(SubfloorKind kind) {
  const auto place = static_cast<std::size_t>(kind) - 1;
  return place < kSubfloorNames.size() ? kSubfloorNames[place] : "unknown_subfloor";
}

std::optional<SubfloorKind> subfloor_kind_from_name(std::string_view name) {
  for (std::size_t i = 0; i < kSubfloorNames.size(); ++i) {
    if (kSubfloorNames[i] == name) {
      return static_cast<SubfloorKind>(i + 1);
    }
  }
  return std::nullopt;
}

std::span<const std::string_view> subfloor_kind_names() { return kSubfloorNames; }

BarrierNeed barrier_over(SubfloorKind kind) {
  switch (kind) {
    case SubfloorKind::crawl_space:
      return kOverCrawlSpace;
    case SubfloorKind::timber:
      return kOverTimber;
    default:
      return kOverMineral;
  }
}

SiteQuestion barrier_question() {
  SiteQuestion question{SiteGate::vapour_barrier,
                        "--barrier",
                        "Which vapour barrier lies under the underlay?",
                        "without one where it is needed, water from below swells the panels",
                        {}};
  for (const BarrierChoice& entry : kBarrierChoices) {
    question.choices.push_back(entry.choice);
  }
  return question;
}

std::optional<SiteAnswer> barrier_answer_from(SubfloorKind below, std::string_view barrier,
                                              std::string_view approval) {
  for (const BarrierChoice& entry : kBarrierChoices) {
    if (entry.choice.word != barrier) {
      continue;
    }
    SiteAnswer answer = barrier_answer(barrier_over(below), entry.barriers);
    answer.text = std::string(entry.choice.text) + "; below it " + spoken_name_of(below);
    return with_approval(std::move(answer), approval);
  }
  return std::nullopt;
}

}  // namespace analysis::readiness
