// Rows of the small tables as the values of reading_store.hpp: the one place that knows the order
// of their columns. REQUIRES of all: Statement::step() said that there is a row; check misfit().
#pragma once

#include "logger/store/reading_store.hpp"
#include "logger/store/sqlite_handle.hpp"

namespace logger::store {

inline constexpr const char* kExchangeColumns = "ticks_ms, host_utc_us, error_us";
// With the id text of the box; of a table that names it in a column `box`.
inline constexpr const char* kGapColumns =
    "ifnull((SELECT box_id FROM boxes b WHERE b.box = gaps.box), ''), boot, first_sequence, "
    "last_sequence, reason, noted_utc_us";
inline constexpr const char* kEventColumns = "id, at_utc_us, kind, subject, detail_json";
inline constexpr const char* kNoteColumns =
    "id, at_utc_us, noted_utc_us, kind, room_id, noted_by, content_json, salt";
inline constexpr const char* kCalibrationColumns =
    "id, ifnull((SELECT box_id FROM boxes b WHERE b.box = calibrations.box), ''), channel_index, "
    "valid_from_utc_us, due_utc_us, gain, offset_file_unit, expanded_uncertainty_file_unit, "
    "calibrated_by, reference, noted_utc_us, salt";
inline constexpr const char* kMessageColumns =
    "id, at_utc_us, alert_key, transition, payload_json, delivered_utc_us, next_attempt_utc_us, "
    "attempts, last_error, salt";

[[nodiscard]] ClockExchange exchange_from_row(Statement& row);
[[nodiscard]] Gap gap_from_row(Statement& row);
[[nodiscard]] Event event_from_row(Statement& row);
[[nodiscard]] Note note_from_row(Statement& row);
[[nodiscard]] Calibration calibration_from_row(Statement& row);
[[nodiscard]] Message message_from_row(Statement& row);

}  // namespace logger::store
