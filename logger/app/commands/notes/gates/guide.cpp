#include "logger/app/commands/notes/gates/guide.hpp"

#include <vector>

#include "analysis/plan/flatness/flatness_texts.hpp"
#include "logger/app/commands/exit_status.hpp"
#include "logger/app/commands/notes/gates/dialogue.hpp"
#include "logger/app/commands/notes/gates/gate_questions.hpp"
#include "logger/app/commands/notes/gates/gate_words.hpp"
#include "logger/app/commands/notes/record_note.hpp"
#include "logger/app/room/gate_notes.hpp"
#include "logger/app/room/rooms_asked.hpp"
#include "logger/app/status/note_lines.hpp"

namespace logger::app {

using analysis::base::minute_text_from_utc;
using analysis::readiness::SiteChoice;
using analysis::readiness::SiteGate;

namespace {

const std::vector<SiteChoice> kFlatChoices{
    {"grid", "heights on a grid, from a CSV file"},
    {"line", "gaps under a straightedge or string, typed in"},
    {"met", "looked at and found flat, without readings"},
    {"not-met", "not flat, without readings"}};
const std::vector<std::string> kFlatExplained{
    "A rigid straightedge is laid along rows, columns and diagonals; the largest gap under it "
    "counts. A floor may slope as long as it is flat.",
    "Heights: with a level or laser on a grid of 25 cm, in mm or with a unit, a row per line of "
    "the "
    "file.",
    "Gaps: lay the straightedge down, measure every 25 cm, those places too where it rests."};

class RoomGuide {
 public:
  RoomGuide(OpenedJob& opened, const JobRoom& room, const NoteOptions& options, Dialogue& dialogue)
      : opened_(opened), room_(room), options_(options), dialogue_(dialogue) {}

  void ask_all(const JobRecords& records) {
    const auto gates = gates_to_ask(records);
    const std::size_t count = gates.size();
    dialogue_.say("");
    dialogue_.say(room_.name + " (" + room_.id + "): " +
                  (count == 0 ? "every gate is noted as met"
                              : std::to_string(count) + (count == 1 ? " gate is" : " gates are") +
                                    " to be noted"));
    for (std::size_t i = 0; i < count && !dialogue_.ended(); ++i) {
      dialogue_.say("");
      ask(gates[i], std::to_string(i + 1) + " of " + std::to_string(count) + "  ");
    }
  }

 private:
  struct AskedGate {
    SiteGate gate;
    std::string so_far;  // what was noted; empty = nothing
  };
  // What nobody noted, what is open, and what was not met: it may have been put right since.
  std::vector<AskedGate> gates_to_ask(const JobRecords& records) const {
    std::vector<AskedGate> gates;
    for (const SiteGate gate : room_.requirements.site_gates) {
      const store::Note* note = newest_gate_note(records, room_.id, name_of(gate));
      if (note == nullptr || gate_state_in(content_of(*note)) != "met") {
        gates.push_back({gate, note == nullptr ? std::string()
                                               : line_from_note(*note).text + " (" + note->by +
                                                     ", " + minute_text_from_utc(note->at) + ")"});
      }
    }
    return gates;
  }

  // Asked again after a refusal, which leaves nothing stored.
  void ask(const AskedGate& asked, const std::string& number) {
    const SiteGate gate = asked.gate;
    bool again = true;
    while (again && !dialogue_.ended()) {
      NoteOptions note;
      note.kind = "gate";
      note.subject = std::string(name_of(gate));
      note.room = room_.id;
      note.by = options_.by;
      note.at = options_.at;
      note.imperial = options_.imperial;
      const bool answered = gate == SiteGate::flat ? ask_flat(note, number, asked.so_far)
                                                   : ask_choice(note, number, asked);
      if (answered) {
        ask_photo(note);
      }
      again = answered && !noted(note);
    }
  }

  void say_so_far(const std::string& so_far) {
    if (!so_far.empty()) {
      dialogue_.say("so far: " + so_far, 2);
    }
  }
  bool ask_flat(NoteOptions& note, const std::string& number, const std::string& so_far) {
    dialogue_.say(number + analysis::plan::gate_question(
                               SiteGate::flat, {room_.requirements.flatness, options_.imperial}));
    say_so_far(so_far);
    dialogue_.say("limit by: " + room_.requirements.flatness.source, 2);
    dialogue_.say("why: " + std::string(kFlatWhy), 2);
    const auto chosen = dialogue_.choose(kFlatChoices, kFlatExplained);
    if (!chosen) {
      return false;
    }
    if (*chosen == "grid") {
      note.gate.grid = dialogue_.ask("file of heights: ").value_or("");
      note.gate.heights = options_.imperial && !note.gate.grid.empty()
                              ? dialogue_.ask("heights in mm or in: ").value_or("")
                              : "";
      note.gate.spacing =
          note.gate.grid.empty()
              ? ""
              : dialogue_
                    .ask(options_.imperial ? "how far apart (10 in): " : "how far apart (25 cm): ")
                    .value_or("");
      return !note.gate.grid.empty();
    }
    if (*chosen == "line") {
      return ask_lines(note);
    }
    note.answer = *chosen;
    return true;
  }
  bool ask_lines(NoteOptions& note) {
    dialogue_.say(options_.imperial
                      ? "a line at a time, such as 0 in=0 in, 10 in=1/8 in, 20 in=0 in; Enter ends"
                      : "a line at a time, such as " + std::string(kLineExample) + "; Enter ends",
                  2);
    while (const auto line = dialogue_.ask("gaps: ")) {
      if (line->empty()) {
        return !note.gate.lines.empty();
      }
      note.gate.lines.push_back(*line);
    }
    return false;
  }

  bool ask_choice(NoteOptions& note, const std::string& number, const AskedGate& asked) {
    const SiteGate gate = asked.gate;
    const auto question = analysis::readiness::site_question_of(gate);
    dialogue_.say(number + std::string(question->asks));
    say_so_far(asked.so_far);
    dialogue_.say("why: " + std::string(question->why), 2);
    const std::vector<std::string> explained{question_of(gate, room_.requirements.flatness),
                                             "The floor's own instructions win over all of it."};
    if (gate == SiteGate::vapour_barrier && !ask_below(note)) {
      return false;
    }
    const auto word = dialogue_.choose(question->choices, explained);
    if (!word) {
      return false;
    }
    put_answer_word(note.gate, gate, *word);
    return ask_approval(note, gate, *word);
  }
  bool ask_below(NoteOptions& note) {
    if (room_.subfloor_kind) {
      dialogue_.say("below, by job.json: " + std::string(name_of(*room_.subfloor_kind)), 2);
      note.gate.below = std::string(name_of(*room_.subfloor_kind));
      return true;
    }
    dialogue_.say("first, " + std::string(kBelowAsks), 2);
    const auto below = dialogue_.choose(
        below_choices(), {"It says whether a vapour barrier is needed; job.json can hold it as "
                          "subfloor_kind."});
    note.gate.below = below.value_or("");
    return below.has_value();
  }
  // Only where an approval would change the answer.
  bool ask_approval(NoteOptions& note, SiteGate gate, const std::string& word) {
    const auto answer =
        gate == SiteGate::vapour_barrier
            ? barrier_answer_from(*analysis::readiness::subfloor_kind_from_name(note.gate.below),
                                  word, "")
            : site_answer_from(gate, word, "");
    if (!answer->approval_counts) {
      return true;
    }
    dialogue_.say(answer->why + ": " + answer->action, 2);
    const auto approval =
        dialogue_.ask("who allows it in writing, with date (Enter: nobody yet): ");
    note.gate.approval = approval.value_or("");
    return approval.has_value();
  }
  // The answer is whole by then, so it is noted even if nothing more is typed.
  void ask_photo(NoteOptions& note) {
    const auto photo = dialogue_.ask("photo, name of its file (Enter: none): ");
    if (photo && !photo->empty()) {
      note.photos.emplace_back(*photo);
    }
  }
  bool noted(const NoteOptions& note) {
    const auto row = record_note(opened_, note);
    if (!row) {
      dialogue_.say(row.error().context + "; nothing was noted", 2);
      return false;
    }
    for (const std::string& line : row.value().told) {
      dialogue_.show(text_from_told(line));
    }
    dialogue_.say("noted.", 2);
    return true;
  }

  OpenedJob& opened_;
  const JobRoom& room_;
  const NoteOptions& options_;
  Dialogue& dialogue_;
};

void say_missing(const OpenedJob& opened, const JobRoom& room, const JobRecords& records,
                 Dialogue& dialogue) {
  const auto missing =
      missing_notes_from(opened.job, room, records, room_notes_from(records, room).site_gates);
  dialogue.say("");
  dialogue.say(room.name + " (" + room.id +
               "): " + (missing.empty() ? "nothing is left to note" : "still to note"));
  for (const MissingNote& note : missing) {
    dialogue.say(note.what + ": " + why_of(note), 2);
    dialogue.show("    " + command_of(note, opened.folder.root.string()));
  }
}

}  // namespace

int guide_through_gates(OpenedJob& opened, const NoteOptions& options, std::istream& answers,
                        bool echoes, const Console& console) {
  for (const auto& checked :
       {check_note_options(options), check_text("--by", options.by, 1, 100)}) {
    if (!checked) {
      return report(console, checked.error());
    }
  }
  const auto rooms = rooms_asked_for(opened.job, options.room);
  if (!rooms) {
    return report(console, rooms.error());
  }
  Dialogue dialogue(answers, console.out, echoes);
  dialogue.say(
      "A number or a word answers; ? explains, Enter skips, q ends. Each answer is noted "
      "at once.");
  dialogue.say("The manufacturer's instructions, local codes and licensed trades come first.");
  const auto before = job_records_from(*opened.store);
  if (!before) {
    return report(console, before.error());
  }
  for (const JobRoom* room : rooms.value()) {
    if (!dialogue.ended()) {
      RoomGuide(opened, *room, options, dialogue).ask_all(before.value());
    }
  }
  const auto after = job_records_from(*opened.store);
  if (!after) {
    return report(console, after.error());
  }
  for (const JobRoom* room : rooms.value()) {
    say_missing(opened, *room, after.value(), dialogue);
  }
  return kExitDone;
}

}  // namespace logger::app
