#include "logger/app/commands/notes/gates/gate_content.hpp"

#include <algorithm>
#include <filesystem>
#include <functional>

#include "analysis/plan/flatness/flatness_map.hpp"
#include "analysis/plan/room/length_text.hpp"
#include "analysis/readiness/reason_texts.hpp"
#include "logger/app/commands/notes/gates/flatness_input.hpp"
#include "logger/app/commands/notes/gates/gate_words.hpp"
#include "logger/app/room/gate_notes.hpp"
#include "logger/app/text/listed.hpp"

namespace logger::app {

using analysis::plan::FlatnessMap;
using analysis::plan::FlatnessWords;
using analysis::readiness::FlatnessResult;
using analysis::readiness::SiteAnswer;
using analysis::readiness::SiteGate;
using nlohmann::json;
using store::ErrorCode;
using store::failure;
using store::Result;

namespace {

constexpr std::size_t kSpotsTold = 6;

Result<SiteGate> gate_from(const std::string& name, const JobRoom& room) {
  if (const auto gate = analysis::readiness::site_gate_from_name(name)) {
    return *gate;
  }
  std::string known;
  for (const auto gate : analysis::readiness::all_site_gates()) {
    known +=
        "\n  " + std::string(name_of(gate)) + ": " + question_of(gate, room.requirements.flatness);
  }
  return failure(ErrorCode::invalid_input,
                 "gate `" + name + "` is not known; expected one of" + known);
}

json content_with(const NoteOptions& options, const std::string& state, const std::string& basis,
                  const std::string& grounds) {
  return {{"gate", options.subject}, {"met", state == "met"}, {"state", state},
          {"basis", basis},          {"grounds", grounds},    {"remark", options.remark}};
}

// What was typed by hand must not say the opposite.
Result<void> check_hand(const NoteOptions& options, const std::string& state,
                        const std::string& because) {
  if (options.answer.empty() || options.answer == (state == "not met" ? "not-met" : state)) {
    return {};
  }
  return failure(ErrorCode::invalid_input, "gate " + options.subject + ": `" + options.answer +
                                               "`, but " + because + " (" + state +
                                               "); leave the answer out");
}

json readings_json(const analysis::readiness::FlatnessReadings& readings) {
  json lines = json::array();
  for (const auto& line : readings.lines) {
    json points = json::array();
    for (const auto& point : line) {
      points.push_back({{"at_m", point.at_m}, {"gap_mm", 0.0 - point.height_mm}});
    }
    lines.push_back(points);
  }
  json all{{"reading_uncertainty_mm", readings.reading_mm}, {"lines", lines}, {"grid", nullptr}};
  if (readings.grid) {
    json heights = json::array();
    for (const auto& height : readings.grid->heights_mm) {
      heights.push_back(height ? json(*height) : json(nullptr));
    }
    all["grid"] = {{"columns", readings.grid->columns},
                   {"along_m", readings.grid->along_m},
                   {"between_m", readings.grid->between_m},
                   {"heights_mm", heights}};
  }
  return all;
}

json result_json(const FlatnessResult& result, const JobRoom& room) {
  json found{{"within_mm", room.requirements.flatness.within_mm},
             {"straightedge_m", room.requirements.flatness.straightedge_m},
             {"source", room.requirements.flatness.source},
             {"worst_mm", result.worst_mm},
             {"expanded_uncertainty_mm", result.expanded_uncertainty_mm},
             {"readings", result.readings},
             {"beyond", result.beyond}};
  if (result.filler) {
    found["filler_within_limit_l"] = result.filler->within_limit_l;
    found["filler_within_limit_after_grinding_l"] = result.filler->within_limit_after_grinding_l;
    found["filler_to_high_plane_l"] = result.filler->to_high_plane_l;
  }
  return found;
}

// How much of the room the readings stand for: nobody sees it from their number.
std::string covered_text(const analysis::readiness::FlatnessReadings& readings, const JobRoom& room,
                         bool imperial) {
  using analysis::base::Metres;
  using analysis::base::SquareMetres;
  const SquareMetres whole{room.floor_area_m2};
  std::string text;
  if (const auto& grid = readings.grid) {
    const auto measured = std::ranges::count_if(
        grid->heights_mm, [](const auto& height) { return height.has_value(); });
    const SquareMetres part{static_cast<double>(measured) * grid->along_m * grid->between_m};
    text = std::to_string(grid->rows()) + (grid->rows() == 1 ? " row of " : " rows of ") +
           std::to_string(grid->columns) + " heights, which stand for " +
           analysis::plan::area_share_text(part, whole, imperial);
  }
  double length_m = 0.0;
  for (const auto& line : readings.lines) {
    length_m += line.back().at_m - line.front().at_m;
  }
  return text + (text.empty() || readings.lines.empty() ? "" : ", ") +
         (readings.lines.empty()
              ? ""
              : analysis::plan::stretch_text(Metres{length_m}, imperial) +
                    " of lines in a room of " + analysis::plan::area_text(whole, imperial));
}

Result<void> write_map(const path& file, const FlatnessMap& map) {
  std::error_code error;
  if (std::filesystem::exists(file, error)) {
    return failure(ErrorCode::invalid_input,
                   "--map " + file.string() + ": is there already; expected a new file");
  }
  const auto drawn = analysis::plan::flatness_map_svg(map);
  if (!drawn) {
    return failure(ErrorCode::unavailable,
                   "--map " + file.string() + ": " + std::string(text_of(drawn.error())));
  }
  return write_file(file, drawn.value(), 0644);
}

Result<GateNote> flat_note_from(const NoteOptions& options, const JobRoom& room,
                                analysis::base::UtcMicros seen_at) {
  const auto readings = flatness_readings_from(options.gate);
  if (!readings) {
    return store::Failure{readings.error()};
  }
  const FlatnessWords words{room.requirements.flatness, options.imperial};
  const auto result =
      analysis::readiness::flatness_from(readings.value(), words.limit,
                                         options.imperial ? analysis::plan::imperial_text_from
                                                          : analysis::readiness::centimetres_text);
  if (!result) {
    return failure(ErrorCode::invalid_input, "gate flat: " + result.error());
  }
  const FlatnessResult& found = result.value();
  const std::string grounds =
      grounds_from(found, words) + "; " + covered_text(readings.value(), room, false);
  GateNote note{{}, found.met ? "met" : "not met", lines_from(found, words, kSpotsTold)};
  if (const auto agreed = check_hand(options, note.state, "the readings say: " + grounds);
      !agreed) {
    return store::Failure{agreed.error()};
  }
  note.told.push_back("  " + covered_text(readings.value(), room, options.imperial));
  if (readings.value().grid) {
    const auto map =
        analysis::plan::map_lines_from(found, *readings.value().grid, options.imperial);
    note.told.insert(note.told.end(), map.begin(), map.end());
    const auto written = options.gate.map.empty()
                             ? Result<void>{}
                             : write_map(options.gate.map, {found, *readings.value().grid, words,
                                                            room.name, seen_at});
    if (!written) {
      return store::Failure{written.error()};
    }
  }
  note.content = content_with(options, note.state, "readings", grounds);
  note.content["readings"] = readings_json(readings.value());
  note.content["result"] = result_json(found, room);
  return note;
}

Result<analysis::readiness::SubfloorKind> below_from(const NoteOptions& options,
                                                     const JobRoom& room) {
  using analysis::readiness::subfloor_kind_from_name;
  const std::string& typed = options.gate.below;
  if (typed.empty() && room.subfloor_kind) {
    return *room.subfloor_kind;
  }
  const auto kind = subfloor_kind_from_name(typed);
  if (!kind) {
    return failure(ErrorCode::invalid_input,
                   "--below `" + typed + "`: expected what lies below, one of " +
                       listed(analysis::readiness::subfloor_kind_names(), std::identity{}));
  }
  if (room.subfloor_kind && *room.subfloor_kind != *kind) {
    return failure(ErrorCode::invalid_input, "--below " + typed +
                                                 ": subfloor_kind in job.json is " +
                                                 std::string(name_of(*room.subfloor_kind)));
  }
  return *kind;
}

// Where the barrier that was answered is not the one that the room's plan orders; empty = alike.
std::string barrier_finding(const std::string& word, const JobRoom& room) {
  if (!room.plan) {
    return "";
  }
  const bool own_sheet = word == "present" || word == "both";
  if (room.plan->request.barrier && !own_sheet) {
    return "finding: the plan orders a barrier of its own, this answer has none; lay it, or take "
           "it "
           "out of the plan";
  }
  return !room.plan->request.barrier && own_sheet
             ? "finding: the plan orders no barrier of its own, this answer has one; write it into "
               "the plan"
             : "";
}

Result<GateNote> answered_note_from(const NoteOptions& options, SiteGate gate,
                                    const JobRoom& room) {
  const std::string word = answer_word_in(options.gate, gate);
  json answers{{"answer", word}, {"approval", options.gate.approval}};
  std::optional<SiteAnswer> answer;
  if (gate == SiteGate::vapour_barrier) {
    const auto below = below_from(options, room);
    if (!below) {
      return store::Failure{below.error()};
    }
    answers["below"] = name_of(below.value());
    answer = barrier_answer_from(below.value(), word, options.gate.approval);
  } else {
    answer = site_answer_from(gate, word, options.gate.approval);
  }
  if (!answer) {
    return failure(ErrorCode::invalid_input, choices_refusal(gate, word));
  }
  if (!options.gate.approval.empty() && !answer->approval_counts) {
    return failure(ErrorCode::invalid_input, "--approval: an approval changes nothing for " +
                                                 answer->text + "; leave it out");
  }
  GateNote note{{}, gate_state_text(answer->state), answer_lines(options.subject, *answer)};
  if (const auto agreed = check_hand(options, note.state, answer->text + ": " + answer->why);
      !agreed) {
    return store::Failure{agreed.error()};
  }
  note.content = content_with(options, note.state, "answers", answer_grounds(*answer));
  note.content["answers"] = answers;
  note.content["action"] = answer->action;
  if (gate == SiteGate::vapour_barrier) {
    if (std::string finding = barrier_finding(word, room); !finding.empty()) {
      note.told.push_back(std::move(finding));
    }
  }
  return note;
}

// The grounds that a bare word of that state goes against, be it the first one or a repeat; empty =
// none.
std::string grounds_against(const std::string& state, const store::Note* older) {
  const json before = older == nullptr ? json::object() : content_of(*older);
  if (before.contains("against")) {
    return before.value("against", "");
  }
  if (!before.contains("grounds") || gate_state_in(before) == state) {
    return "";
  }
  return (before.value("basis", "") == "readings" ? "the readings of " : "the answer of ") +
         analysis::readiness::text_from_date(older->at) + ", " + gate_state_in(before) + ": " +
         before.value("grounds", "");
}

// A bare word stands, but what it goes against stays visible.
Result<GateNote> stated_note_from(const NoteOptions& options, SiteGate gate,
                                  const store::Note* older) {
  if (options.answer != "met" && options.answer != "not-met") {
    return failure(ErrorCode::invalid_input, "gate " + options.subject + ": `" + options.answer +
                                                 "`; expected met or not-met, or " +
                                                 answer_hint(gate));
  }
  GateNote note{{}, options.answer == "met" ? "met" : "not met", {}};
  note.content = {
      {"gate", options.subject}, {"met", options.answer == "met"}, {"remark", options.remark}};
  const std::string against = grounds_against(note.state, older);
  if (!against.empty()) {
    note.content["against"] = against;
    note.content["grounds"] = std::string("Stated without ") +
                              (against.starts_with("the readings") ? "readings" : "an answer") +
                              ", after " + against;
    note.told = {"stated without grounds, after " + against,
                 "status and certificate say so; new grounds: " + answer_hint(gate)};
  }
  return note;
}

}  // namespace

Result<GateNote> gate_note_from(const NoteOptions& options, const JobRoom& room,
                                const JobRecords& records, analysis::base::UtcMicros seen_at) {
  const auto gate = gate_from(options.subject, room);
  if (!gate) {
    return store::Failure{gate.error()};
  }
  const auto fitting = check_gate_options(options, gate.value());
  if (!fitting) {
    return store::Failure{fitting.error()};
  }
  if (has_readings(options.gate)) {
    return flat_note_from(options, room, seen_at);
  }
  if (!answer_word_in(options.gate, gate.value()).empty()) {
    return answered_note_from(options, gate.value(), room);
  }
  return stated_note_from(options, gate.value(),
                          newest_gate_note(records, room.id, options.subject));
}

}  // namespace logger::app
