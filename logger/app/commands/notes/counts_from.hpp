// From when on a note counts, in words: `--at` says when it happened, and the time of writing is
// kept beside it. Pure.
#pragma once

#include <string>
#include <vector>

#include "logger/app/commands/certificates/issued_certificates.hpp"
#include "logger/app/room/room_tracker.hpp"

namespace logger::app {

// A clause; empty for kinds of which nothing is counted. `records`: as before the note.
[[nodiscard]] std::string counts_from_text(const store::Note& note, const JobRecords& records);
// Of a calibration.
[[nodiscard]] std::string counts_from_text(UtcMicros valid_from, UtcMicros noted_at);

// "certificate hall-1 was issued before and stays as it is": of the room's certificates whose
// period reaches beyond `at`; empty without any.
[[nodiscard]] std::string issued_stays_text(const std::string& room_id, UtcMicros at,
                                            const std::vector<IssuedCertificate>& issued);

}  // namespace logger::app
