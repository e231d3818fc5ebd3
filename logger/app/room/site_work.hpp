// What was done on site besides the gates, from the notes of a job: laying, placements, photos.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "analysis/certificate/facts.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

struct SiteWork {
  std::vector<analysis::certificate::PlacementFacts> placements;  // the newest of each channel
  std::vector<analysis::certificate::PhotoFacts> photos;          // of all notes, each once a note
};
// In order of time, from notes made of up to `until`. Placements: of the room's channels.
[[nodiscard]] SiteWork site_work_from(const JobRecords& records, const Job& job,
                                      const JobRoom& room, UtcMicros until);

// The note of that step ("began", "finished") that was noted last; nullptr where there is none.
[[nodiscard]] const store::Note* laying_note(const JobRecords& records, const std::string& room_id,
                                             std::string_view step);
// By these notes.
[[nodiscard]] analysis::certificate::LayingFacts laying_from(const JobRecords& records,
                                                             const std::string& room_id);

}  // namespace logger::app
