#include "logger/app/commands/notes/gates/gate_questions.hpp"

#include <nlohmann/json.hpp>

namespace logger::app {

using analysis::readiness::SiteChoice;
using analysis::readiness::SiteGate;
using analysis::readiness::SiteQuestion;
using analysis::readiness::SubfloorKind;
using nlohmann::ordered_json;

namespace {

constexpr double kMillimetresOfMetre = 1000.0;

ordered_json choices_json(const std::vector<SiteChoice>& choices) {
  ordered_json list = ordered_json::array();
  for (const SiteChoice& choice : choices) {
    list.push_back({{"word", choice.word}, {"text", choice.text}});
  }
  return list;
}

ordered_json approval_json(const SiteQuestion& question, std::optional<SubfloorKind> below) {
  ordered_json words = ordered_json::array();
  for (const SiteChoice& choice : question.choices) {
    if (approval_would_count(question.gate, choice.word, below)) {
      words.push_back(choice.word);
    }
  }
  return words;
}

// Of the barrier an approval goes by what lies below.
ordered_json below_json(const SiteQuestion& question) {
  ordered_json choices = choices_json(below_choices());
  for (ordered_json& choice : choices) {
    choice["approval_for"] = approval_json(
        question, analysis::readiness::subfloor_kind_from_name(choice.value("word", "")));
  }
  return {{"asks", kBelowAsks}, {"choices", choices}};
}

ordered_json question_json(SiteGate gate) {
  const auto question = analysis::readiness::site_question_of(gate);
  if (!question) {
    return {{"gate", name_of(gate)}, {"why", kFlatWhy}, {"line_example", kLineExample}};
  }
  ordered_json json{{"gate", name_of(gate)},
                    {"asks", question->asks},
                    {"why", question->why},
                    {"choices", choices_json(question->choices)}};
  if (gate == SiteGate::vapour_barrier) {
    json["below"] = below_json(*question);
  } else {
    json["approval_for"] = approval_json(*question, std::nullopt);
  }
  return json;
}

ordered_json room_questions_json(const JobRoom& room) {
  ordered_json gates = ordered_json::array();
  for (const SiteGate gate : room.requirements.site_gates) {
    gates.push_back(name_of(gate));
  }
  const auto or_nothing = [](bool there, const auto& value) {
    return there ? ordered_json(value()) : ordered_json(nullptr);
  };
  return {{"room", room.id},
          {"gates", gates},
          {"flat_asks", question_of(SiteGate::flat, room.requirements.flatness)},
          {"flat_limit_by", room.requirements.flatness.source},
          {"subfloor_kind", or_nothing(room.subfloor_kind.has_value(),
                                       [&] { return name_of(*room.subfloor_kind); })},
          {"has_slab", room.requirements.slab.has_value()},
          {"slab_thickness_mm", or_nothing(room.slab_build.has_value(), [&] {
             return room.slab_build->thickness.value() * kMillimetresOfMetre;
           })}};
}

}  // namespace

const std::vector<SiteChoice>& below_choices() {
  static const std::vector<SiteChoice> kChoices{
      {"concrete", "concrete slab"},
      {"screed", "screed of any kind"},
      {"tile", "tiles"},
      {"stone", "stone or terrazzo"},
      {"crawl_space", "a timber floor over a crawl space"},
      {"timber", "an upper timber floor over a heated room"}};
  return kChoices;
}

bool approval_would_count(SiteGate gate, std::string_view word, std::optional<SubfloorKind> below) {
  const auto answer = gate == SiteGate::vapour_barrier ? barrier_answer_from(*below, word, "")
                                                       : site_answer_from(gate, word, "");
  return answer->approval_counts;
}

std::string gate_questions_json(const Job& job) {
  ordered_json questions = ordered_json::array();
  for (const SiteGate gate : analysis::readiness::all_site_gates()) {
    questions.push_back(question_json(gate));
  }
  ordered_json rooms = ordered_json::array();
  for (const JobRoom& room : job.rooms) {
    rooms.push_back(room_questions_json(room));
  }
  return ordered_json{{"questions", questions}, {"rooms", rooms}}.dump();
}

}  // namespace logger::app
