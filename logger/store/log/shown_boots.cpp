#include "logger/store/log/shown_boots.hpp"

#include "analysis/base/clock_map.hpp"
#include "logger/store/log/fact_rows.hpp"

namespace logger::store {
namespace {

// The number that the query gives for a number of this boot.
Result<std::optional<std::int64_t>> nearest(Connection& connection, std::string_view sql,
                                            std::pair<std::int64_t, std::int64_t> boot,
                                            std::int64_t number) {
  const auto row = read_row(
      connection, sql, [](Statement& r) { return r.integer_if(0); }, boot.first, boot.second,
      number);
  return row ? Result<std::optional<std::int64_t>>{row.value().value_or(std::nullopt)}
             : Failure{row.error()};
}

// The ticks from which on exchanges date readings that begin at `from`.
Result<std::int64_t> first_ticks_of(Connection& connection,
                                    std::pair<std::int64_t, std::int64_t> boot,
                                    analysis::base::UtcMicros from) {
  static const std::string newest_sql = std::string("SELECT ") + kExchangeColumns +
                                        " FROM exchanges WHERE box = ? AND boot = ? "
                                        "ORDER BY ticks_ms DESC LIMIT 1";
  const auto newest = read_rows(connection, newest_sql, exchange_from_row, boot.first, boot.second);
  if (!newest) {
    return Failure{newest.error()};
  }
  const analysis::base::ClockMap map(newest.value(), analysis::base::plausible_exchanges_from(
                                                         static_cast<std::uint32_t>(boot.second)));
  const std::int64_t first = analysis::base::first_dating_ticks(map, from);
  const auto before = nearest(
      connection, "SELECT max(ticks_ms) FROM exchanges WHERE box = ? AND boot = ? AND ticks_ms < ?",
      boot, first);
  return before ? Result<std::int64_t>{before.value().value_or(first)} : Failure{before.error()};
}

}  // namespace

Result<ShownBoots> shown_boots_of(Connection& connection, const ExtractRequest& request) {
  ShownBoots shown;
  for (const RecordSpan& span : request.readings) {
    const auto key = read_row(
        connection, "SELECT box FROM boxes WHERE box_id = ?",
        [](Statement& row) { return row.integer(0); }, span.box_id);
    if (!key) {
      return Failure{key.error()};
    }
    if (!key.value()) {
      return failure(ErrorCode::invalid_input,
                     "store " + connection.path() + ": it has no box \"" + span.box_id + "\"");
    }
    const std::pair<std::int64_t, std::int64_t> boot{*key.value(), span.boot};
    const auto ticks = first_ticks_of(connection, boot, request.from);
    const auto before = nearest(
        connection, "SELECT max(sequence) FROM records WHERE box = ? AND boot = ? AND sequence < ?",
        boot, span.first_sequence);
    const auto after = nearest(
        connection, "SELECT min(sequence) FROM records WHERE box = ? AND boot = ? AND sequence > ?",
        boot, span.last_sequence);
    if (!ticks || !before || !after) {
      return Failure{!ticks ? ticks.error() : !before ? before.error() : after.error()};
    }
    shown[boot] = {span, ticks.value(), before.value(), after.value()};
  }
  return shown;
}

}  // namespace logger::store
