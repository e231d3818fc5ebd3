#include "logger/store/log/fact_rows.hpp"

namespace logger::store {
namespace {}  // namespace

ClockExchange exchange_from_row(Statement& row) {
  return {row.integer(0), UtcMicros{row.integer(1)}, analysis::base::Micros{row.integer(2)}};
}

Gap gap_from_row(Statement& row) {
  return {row.text(0),
          row.number<std::uint32_t>(1),
          row.integer(2),
          row.integer(3),
          static_cast<GapReason>(row.number<std::uint8_t>(4)),
          UtcMicros{row.integer(5)}};
}

Event event_from_row(Statement& row) {
  return {row.integer(0), UtcMicros{row.integer(1)}, row.text(2), row.text(3), row.text(4)};
}

Note note_from_row(Statement& row) {
  return {row.integer(0),
          UtcMicros{row.integer(1)},
          UtcMicros{row.integer(2)},
          row.text(3),
          row.text(4),
          row.text(5),
          row.text(6),
          row.blob(7)};
}

Calibration calibration_from_row(Statement& row) {
  return {row.integer(0),
          row.text(1),
          row.number<int>(2),
          UtcMicros{row.integer(3)},
          UtcMicros{row.integer(4)},
          row.real(5),
          row.real(6),
          row.real(7),
          row.text(8),
          row.text(9),
          UtcMicros{row.integer(10)},
          row.blob(11)};
}

Message message_from_row(Statement& row) {
  return {row.integer(0),
          UtcMicros{row.integer(1)},
          row.text(2),
          row.text(3),
          row.text(4),
          utc_if(row.integer_if(5)),
          utc_if(row.integer_if(6)),
          row.number<int>(7),
          row.text(8),
          row.blob(9)};
}

}  // namespace logger::store
