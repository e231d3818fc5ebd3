#include "logger/store/delivery_rows.hpp"

namespace logger::store {
namespace {

constexpr const char* kColumns =
    "id, recipient, kind, alert_key, at_utc_us, number, due_utc_us, held, payload_json, attempts, "
    "next_attempt_utc_us, delivered_utc_us, refused, last_error";

Delivery delivery_from_row(Statement& row) {
  return {row.integer(0),
          row.text(1),
          row.text(2),
          row.text(3),
          UtcMicros{row.integer(4)},
          row.number<int>(5),
          UtcMicros{row.integer(6)},
          row.integer(7) != 0,
          row.text(8),
          row.number<int>(9),
          utc_if(row.integer_if(10)),
          utc_if(row.integer_if(11)),
          row.integer(12) != 0,
          row.text(13)};
}

}  // namespace

Result<void> insert_delivery(Connection& connection, const Delivery& delivery) {
  return write_row(
      connection,
      "INSERT INTO deliveries (recipient, kind, alert_key, at_utc_us, number, "
      "due_utc_us, held, payload_json, attempts, next_attempt_utc_us, "
      "delivered_utc_us, refused, last_error) "
      "VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT DO NOTHING",
      delivery.recipient, delivery.kind, delivery.alert_key, delivery.at.value,
      std::int64_t{delivery.number}, delivery.due_at.value, std::int64_t{delivery.held},
      delivery.payload_json, std::int64_t{delivery.attempts}, micros_if(delivery.next_attempt_at),
      micros_if(delivery.delivered_at), std::int64_t{delivery.refused}, delivery.last_error);
}

Result<void> update_delivery(Connection& connection, const Delivery& delivery) {
  Result<void> written =
      write_row(connection,
                "UPDATE deliveries SET attempts = ?, next_attempt_utc_us = ?, "
                "delivered_utc_us = ?, refused = ?, last_error = ? WHERE id = ?",
                std::int64_t{delivery.attempts}, micros_if(delivery.next_attempt_at),
                micros_if(delivery.delivered_at), std::int64_t{delivery.refused},
                delivery.last_error, delivery.id);
  if (written && connection.rows_changed() == 0) {
    return failure(ErrorCode::not_found,
                   "store " + connection.path() + ": no delivery " + std::to_string(delivery.id));
  }
  return written;
}

Result<std::vector<Delivery>> read_waiting_deliveries(Connection& connection) {
  static const std::string sql = std::string("SELECT ") + kColumns +
                                 " FROM deliveries WHERE delivered_utc_us IS NULL ORDER BY id";
  return read_rows(connection, sql, delivery_from_row);
}

Result<std::vector<Delivery>> read_recent_deliveries(Connection& connection, int limit) {
  // SQLite takes a negative limit for none.
  static const std::string sql =
      std::string("SELECT ") + kColumns + " FROM deliveries ORDER BY id DESC LIMIT max(?, 0)";
  return read_rows(connection, sql, delivery_from_row, std::int64_t{limit});
}

}  // namespace logger::store
