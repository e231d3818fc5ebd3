#include "logger/app/room/site_work.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "logger/app/handover/laid_content.hpp"
#include "logger/app/room/gate_notes.hpp"

namespace logger::app {

using analysis::certificate::LayingFacts;
using analysis::certificate::PhotoFacts;
using analysis::certificate::PlacementFacts;
using nlohmann::json;

namespace {

// As photos name it: "gate.<gate>", "placement.<channel id>", or the kind of the note.
std::string subject_of(const store::Note& note, const json& content) {
  const char* member = note.kind == "gate"        ? "gate"
                       : note.kind == "placement" ? "channel_id"
                                                  : nullptr;
  return member == nullptr ? note.kind : note.kind + "." + content.value(member, "");
}

void add_photos(std::vector<PhotoFacts>& photos, const store::Note& note, const json& content,
                const std::string& subject) {
  for (const json& photo : content.value("photos", json::array())) {
    photos.push_back(
        {subject, note.at, photo.value("sha256", ""), photo.value("bytes", std::int64_t{0})});
  }
}

// Whether another note of the same gate or channel counts, so that its photos are no evidence of
// what is believed now. `records`: up to the moment asked about.
bool is_superseded(const store::Note& note, const json& content, const JobRecords& records) {
  if (note.kind == "gate") {
    const store::Note* newest = newest_gate_note(records, note.room_id, content.value("gate", ""));
    return newest != nullptr && newest->id != note.id;
  }
  return note.kind == "placement" &&
         std::ranges::any_of(records.notes, [&](const store::Note& other) {
           return other.kind == "placement" && other.id > note.id &&
                  content_of(other).value("channel_id", "") == content.value("channel_id", "");
         });
}

template <class Fact>
void sort_by_time(std::vector<Fact>& facts) {
  std::ranges::stable_sort(facts, {}, &Fact::at);
}

}  // namespace

SiteWork site_work_from(const JobRecords& all_records, const Job& job, const JobRoom& room,
                        UtcMicros until) {
  const JobRecords records = records_as_of(all_records, until);
  const auto measures_here = [&](const std::string& channel_id) {
    return std::ranges::any_of(job.boxes, [&](const JobBox& box) {
      return std::ranges::any_of(box.channels, [&](const JobChannel& channel) {
        return channel.id == channel_id && channel.room_id == room.id;
      });
    });
  };
  SiteWork work;
  for (const store::Note& note : records.notes) {
    const json content = content_of(note);
    const bool placement = note.kind == "placement";
    const std::string channel_id = placement ? content.value("channel_id", "") : "";
    const bool here =
        placement ? measures_here(channel_id) : note.room_id == room.id || note.room_id.empty();
    if (!here || note.at > until) {
      continue;
    }
    if (placement) {
      std::erase_if(work.placements,
                    [&](const PlacementFacts& older) { return older.channel_id == channel_id; });
      work.placements.push_back({channel_id, note.at, note.by, content.value("remark", "")});
    }
    const std::string_view before = is_superseded(note, content, records)
                                        ? analysis::certificate::kSupersededSubject
                                        : std::string_view();
    add_photos(work.photos, note, content, std::string(before) + subject_of(note, content));
  }
  sort_by_time(work.placements);
  sort_by_time(work.photos);
  return work;
}

const store::Note* laying_note(const JobRecords& records, const std::string& room_id,
                               std::string_view step) {
  const auto found =
      std::find_if(records.notes.rbegin(), records.notes.rend(), [&](const store::Note& note) {
        return note.kind == "laying" && note.room_id == room_id &&
               content_of(note).value("step", "") == step;
      });
  return found == records.notes.rend() ? nullptr : &*found;
}

LayingFacts laying_from(const JobRecords& records, const std::string& room_id) {
  LayingFacts laying;
  const store::Note* began = laying_note(records, room_id, "began");
  const store::Note* finished = laying_note(records, room_id, "finished");
  if (began != nullptr) {
    laying.began_at = began->at;
  }
  // Laying that began anew is not finished by an older note.
  if (finished != nullptr && (began == nullptr || finished->at >= began->at)) {
    laying.finished_at = finished->at;
    laying.laid = laid_floor_from_content(content_of(*finished));
  }
  return laying;
}

}  // namespace logger::app
