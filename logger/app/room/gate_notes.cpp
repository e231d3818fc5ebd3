#include "logger/app/room/gate_notes.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "analysis/readiness/site/site_answers.hpp"

namespace logger::app {

using analysis::readiness::SiteGate;
using analysis::readiness::SiteGateNote;
using nlohmann::json;

namespace {

std::string gate_words(SiteGate gate, const JobRoom& room) {
  const std::string words = "gate " + std::string(name_of(gate)) + " ";
  const auto question = analysis::readiness::site_question_of(gate);
  if (!question) {
    return words + "--grid FILE.csv --spacing \"25 cm\"";
  }
  const bool asks_below = gate == SiteGate::vapour_barrier && !room.subfloor_kind;
  return words + (asks_below ? "--below KIND " : "") + std::string(question->option) + " WORD";
}

bool is_noted(const JobRecords& records, const JobRoom& room, std::string_view kind) {
  return std::ranges::any_of(records.notes, [&](const store::Note& note) {
    return note.kind == kind && (note.room_id == room.id || note.room_id.empty());
  });
}

void add_gates(const JobRoom& room, const std::vector<SiteGateNote>& noted,
               std::vector<MissingNote>& missing) {
  for (const SiteGate gate : room.requirements.site_gates) {
    const auto note = std::ranges::find(noted, gate, &SiteGateNote::gate);
    const std::string name(name_of(gate));
    if (note == noted.end()) {
      missing.push_back({name, "not noted yet", gate_words(gate, room), {}});
    } else if (note->open) {
      missing.push_back({name, "open", gate_words(gate, room) + " --approval TEXT", note->to_do});
    }
  }
}

bool has_slab_probe(const analysis::readiness::RoomSetup& setup) {
  return std::ranges::any_of(setup.channels, [](const auto& channel) {
    return channel.scale.role == analysis::base::ChannelRole::slab_rh;
  });
}

// A probe in the slab is read only once it is known since when it is in its sleeve.
void add_placements(const analysis::readiness::RoomSetup& setup,
                    std::vector<MissingNote>& missing) {
  for (const auto& channel : setup.channels) {
    if (channel.scale.role == analysis::base::ChannelRole::slab_rh && !channel.placed_at) {
      missing.push_back({"placement",
                         "channel " + channel.channel_id + ": not noted when it was put in",
                         "placement " + channel.channel_id,
                         {}});
    }
  }
}

void add_ends(const Job& job, const JobRoom& room, std::vector<MissingNote>& notes) {
  for (MissingNote& note : notes) {
    note.words += (job.rooms.size() > 1 ? " --room " + room.id : std::string()) + " --by NAME";
  }
}

}  // namespace

std::string gate_state_in(const json& content) {
  return content.value("state", content.value("met", false) ? "met" : "not met");
}

const store::Note* newest_gate_note(const JobRecords& records, const std::string& room_id,
                                    std::string_view gate) {
  const auto notes = notes_by_time(records, room_id);
  const auto found = std::find_if(notes.rbegin(), notes.rend(), [&](const store::Note* note) {
    return note->kind == "gate" && content_of(*note).value("gate", "") == gate;
  });
  return found == notes.rend() ? nullptr : *found;
}

std::vector<MissingNote> missing_notes_from(const Job& job, const JobRoom& room,
                                            const JobRecords& records,
                                            const std::vector<SiteGateNote>& gates) {
  struct AskedFor {
    std::string_view kind;
    bool asked;
    std::string_view words;
  };
  const auto& slab = room.requirements.slab;
  const auto setup = room_setup_from(job, room, records);
  const AskedFor notes[] = {
      {"delivery", true, "delivery"},
      {"rh-test", slab && !has_slab_probe(setup), "rh-test --hole DEPTH,RH --service-hours HOURS"},
      {"dish-test", slab && slab->emission_high,
       "dish-test --dish GAIN,AREA,HOURS --service-hours HOURS"},
      {"carbide-test", slab && slab->carbide_high, "carbide-test --sample CM_PERCENT"},
      {"wood-test", room.requirements.wood_subfloor_high.has_value(),
       "wood-test --wood SHOWN,CELSIUS"}};
  std::vector<MissingNote> missing;
  add_gates(room, gates, missing);
  for (const AskedFor& note : notes) {
    if (note.asked && !is_noted(records, room, note.kind)) {
      missing.push_back({std::string(note.kind), "not noted yet", std::string(note.words), {}});
    }
  }
  if (slab) {
    add_placements(setup, missing);
  }
  add_ends(job, room, missing);
  return missing;
}

std::vector<MissingNote> gates_to_note_again_from(const Job& job, const JobRoom& room,
                                                  const std::vector<SiteGateNote>& gates) {
  std::vector<MissingNote> found;
  for (const SiteGate gate : room.requirements.site_gates) {
    const auto note = std::ranges::find(gates, gate, &SiteGateNote::gate);
    if (note != gates.end() && !note->met && !note->open) {
      found.push_back({std::string(name_of(gate)), "not met", gate_words(gate, room), {}});
    }
  }
  add_ends(job, room, found);
  return found;
}

std::string why_of(const MissingNote& missing) {
  return missing.why + (missing.to_do.empty() ? "" : ": " + missing.to_do);
}

std::string command_of(const MissingNote& missing, const std::string& job_dir) {
  constexpr std::string_view kPlain =
      "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/._-+,";
  std::string folder = job_dir;
  if (folder.find_first_not_of(kPlain) != std::string::npos) {
    for (std::size_t at = 0; (at = folder.find('\'', at)) != std::string::npos; at += 4) {
      folder.replace(at, 1, "'\\''");
    }
    folder = "'" + folder + "'";
  }
  return "dwellog note " + folder + " " + missing.words;
}

}  // namespace logger::app
