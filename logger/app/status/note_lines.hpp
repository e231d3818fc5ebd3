// Notes in words, for lists.
#pragma once

#include "logger/app/room/room_tracker.hpp"
#include "logger/app/status/status_report.hpp"

namespace logger::app {

// What it says beside kind, room, time and name: "clean: met. Swept twice."
[[nodiscard]] NoteLine line_from_note(const store::Note& note);
// Newest first by id, those before `before_id` (0 = all), at most `most`.
[[nodiscard]] std::vector<NoteLine> newest_notes(const JobRecords& records, std::int64_t before_id,
                                                 std::size_t most);
// {"id", "at_utc", "noted_at_utc", "kind", "room", "by", "text", "photos"}
[[nodiscard]] nlohmann::ordered_json json_from_note(const NoteLine& line);

}  // namespace logger::app
