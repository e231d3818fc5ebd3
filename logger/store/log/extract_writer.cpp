#include "logger/store/log/extract_writer.hpp"

#include <algorithm>
#include <bit>
#include <limits>
#include <optional>
#include <set>
#include <span>
#include <utility>
#include <vector>

#include "analysis/evidence/log/log_extract.hpp"
#include "logger/store/log/fact_rows.hpp"
#include "logger/store/log/leaf_encoding.hpp"
#include "logger/store/log/log_appender.hpp"
#include "logger/store/log/log_nodes.hpp"
#include "logger/store/log/shown_boots.hpp"
#include "logger/store/record_rows.hpp"

namespace logger::store {
namespace {

using analysis::evidence::ExtractExchange;
using analysis::evidence::ExtractHash;
using analysis::evidence::ExtractLine;
using analysis::evidence::ExtractRecord;
using analysis::evidence::ExtractRun;
using analysis::evidence::MerkleTreeBuilder;
using analysis::evidence::Sha256;
using analysis::evidence::Subtree;
using analysis::evidence::TreeHead;

constexpr std::size_t kPieceBytes = 1 << 16;

// Some rows of the log's table `log_runs`.
struct BoxRun {
  std::uint64_t first = 0;
  std::uint64_t count = 0;
  LeafKind kind = LeafKind::mark;
  std::int64_t box = 0;
  std::int64_t boot = 0;
  std::int64_t number = 0;
  std::int64_t last_number = 0;
};

BoxRun box_run_from_row(Statement& row) {
  return {static_cast<std::uint64_t>(row.integer(0)),
          static_cast<std::uint64_t>(row.integer(1)),
          static_cast<LeafKind>(row.number<std::uint8_t>(2)),
          row.integer(3),
          row.integer(4),
          row.integer(5),
          row.integer(6)};
}

// Whether the readings file tells all of the record.
bool is_whole_in_file(const Record& record) {
  for (std::size_t channel = 0; channel < analysis::base::kMaxChannels; ++channel) {
    if (record.statuses[channel] != analysis::base::ChannelStatus::ok &&
        record.raw_counts[channel] != 0) {
      return false;
    }
  }
  return true;
}

// Hands out the rows of runs that follow each other in a boot, and reads many at a time: a run of a
// daemon that commits every few minutes is a row or two.
template <class Row>
class RowsAhead {
 public:
  // `sql`: the rows of a box and a boot from a key on, that many at most, by increasing key.
  RowsAhead(std::string sql, Row (*from_row)(Statement&), std::int64_t (*key_of)(const Row&))
      : sql_(std::move(sql)), from_row_(from_row), key_of_(key_of) {}

  // The rows first..last; valid until the next call.
  Result<std::span<const Row>> take(Connection& connection, const BoxRun& run, std::int64_t last) {
    const std::pair boot{run.box, run.boot};
    const bool held = boot == boot_ && run.number >= next_ && last <= read_to_;
    if (!held) {
      Result<std::vector<Row>> rows = read_rows(connection, sql_, from_row_, run.box, run.boot,
                                                run.number, std::int64_t{kRowsAtOnce});
      if (!rows) {
        return Failure{rows.error()};
      }
      rows_ = std::move(rows).value();
      boot_ = boot;
      position_ = 0;
      read_to_ = rows_.size() < kRowsAtOnce ? std::numeric_limits<std::int64_t>::max()
                                            : key_of_(rows_.back());
    }
    while (position_ < rows_.size() && key_of_(rows_[position_]) < run.number) {
      ++position_;
    }
    const std::size_t begin = position_;
    while (position_ < rows_.size() && key_of_(rows_[position_]) <= last) {
      ++position_;
    }
    next_ = last + 1;
    return std::span<const Row>(rows_).subspan(begin, position_ - begin);
  }

 private:
  static constexpr std::size_t kRowsAtOnce = 1024;  // more than a run has

  std::string sql_;
  Row (*from_row_)(Statement&);
  std::int64_t (*key_of_)(const Row&);
  std::vector<Row> rows_;
  std::optional<std::pair<std::int64_t, std::int64_t>> boot_;
  std::int64_t next_ = 0;     // the first key that rows_ can still give
  std::int64_t read_to_ = 0;  // the last key that rows_ can give
  std::size_t position_ = 0;
};

class ExtractWriter {
 public:
  ExtractWriter(Connection& connection, const ExtractRequest& request, const ExtractSink& sink)
      : connection_(connection), request_(request), sink_(sink), nodes_(connection) {
    for (const std::uint64_t bound : request.bounds) {
      if (bound <= request.size) {
        bounds_.insert(bound);
      }
    }
  }

  Result<ExtractSummary> run(const LogFrontier& frontier);

 private:
  Result<Sha256> root_of(const LogFrontier& frontier);
  Result<void> write_run(const BoxRun& run);
  Result<void> write_records(const BoxRun& run, const ShownBoot& shown);
  Result<void> write_exchanges(const BoxRun& run, const ShownBoot& shown);
  Result<void> write_gaps(const BoxRun& run, const ShownBoot& shown);

  Result<void> hide(std::uint64_t count);
  Result<void> write_hidden();
  Result<void> show(const ExtractLine& line, std::string_view leaf);
  Result<void> show_reading(const ShownBoot& shown, const Record& record);
  Result<void> pass_bound();
  Result<void> write_pending();
  Result<void> put(const ExtractLine& line);
  Result<void> finish();
  [[nodiscard]] Failure rows_gone(const BoxRun& run) const;

  Connection& connection_;
  const ExtractRequest& request_;
  const ExtractSink& sink_;
  LogNodes nodes_;
  RowsAhead<Record> records_{
      std::string("SELECT ") + kRecordColumns +
          " FROM records WHERE box = ? AND boot = ? AND sequence >= ? ORDER BY sequence LIMIT ?",
      record_from_row, [](const Record& record) { return record.id.sequence; }};
  RowsAhead<ClockExchange> exchanges_{
      std::string("SELECT ") + kExchangeColumns +
          " FROM exchanges WHERE box = ? AND boot = ? AND ticks_ms >= ? ORDER BY ticks_ms LIMIT ?",
      exchange_from_row, [](const ClockExchange& exchange) { return exchange.ticks_ms; }};
  ShownBoots shown_;
  std::set<std::uint64_t> bounds_;  // not passed yet
  MerkleTreeBuilder tree_;          // of what is written, without what is hidden at the end
  std::uint64_t position_ = 0;      // the next entry
  std::optional<ExtractRun> pending_;
  std::string piece_;
  ExtractSummary summary_;
};

Result<ExtractSummary> ExtractWriter::run(const LogFrontier& frontier) {
  Result<ShownBoots> shown = shown_boots_of(connection_, request_);
  const Result<Sha256> root = root_of(frontier);
  if (!shown || !root) {
    return Failure{!shown ? shown.error() : root.error()};
  }
  shown_ = std::move(shown).value();
  summary_.head = {request_.size, root.value()};
  piece_ = analysis::evidence::extract_header(request_.size) + "\n";
  Result<void> done = pass_bound();
  Result<Statement> runs = connection_.prepare(
      "SELECT first, count, kind, box, boot, number, last_number FROM log_runs WHERE first < ? "
      "ORDER BY first");
  if (!runs || !done) {
    return Failure{runs ? done.error() : runs.error()};
  }
  runs.value().bind(static_cast<std::int64_t>(request_.size));
  while (position_ < request_.size) {
    const Result<bool> row = runs.value().step();
    if (!row) {
      return Failure{row.error()};
    }
    BoxRun next = row.value() ? box_run_from_row(runs.value()) : BoxRun{};
    if (!row.value() || runs.value().misfit() || next.first != position_ || next.count == 0) {
      return failure(ErrorCode::corrupt, "store " + connection_.path() + ": entry " +
                                             std::to_string(position_) +
                                             " of the evidence log is missing or out of order");
    }
    next.count = std::min(next.count, request_.size - position_);
    if (done = write_run(next); !done) {
      return Failure{done.error()};
    }
  }
  done = finish();
  return done ? Result<ExtractSummary>{std::move(summary_)} : Failure{done.error()};
}

// Of the whole log it is what was stored when it was written, which changed rows do not change.
Result<Sha256> ExtractWriter::root_of(const LogFrontier& frontier) {
  if (request_.size == frontier.size) {
    return MerkleTreeBuilder(frontier.size, frontier.peaks).root();
  }
  const auto root = analysis::evidence::root_from_nodes(
      request_.size, [this](const Subtree& at) { return nodes_.node(at); });
  return root ? Result<Sha256>{root.value()} : Failure{*nodes_.error()};
}

Result<void> ExtractWriter::write_run(const BoxRun& run) {
  const auto found = shown_.find({run.box, run.boot});
  if (found == shown_.end() || run.box == 0) {
    return hide(run.count);
  }
  switch (run.kind) {
    case LeafKind::record:
      return write_records(run, found->second);
    case LeafKind::exchange:
      return write_exchanges(run, found->second);
    case LeafKind::gap:
      return write_gaps(run, found->second);
    default:
      return hide(run.count);
  }
}

Failure ExtractWriter::rows_gone(const BoxRun& run) const {
  return failure(ErrorCode::corrupt, "store " + connection_.path() + ": rows of the entries " +
                                         std::to_string(run.first) + ".." +
                                         std::to_string(run.first + run.count - 1) +
                                         " of its evidence log are gone");
}

Result<void> ExtractWriter::write_records(const BoxRun& run, const ShownBoot& shown) {
  const std::int64_t last = run.number + static_cast<std::int64_t>(run.count) - 1;
  if (!shown.shows_any(run.number, last)) {
    return hide(run.count);
  }
  const auto rows = records_.take(connection_, run, last);
  if (!rows) {
    return Failure{rows.error()};
  }
  if (rows.value().size() != run.count) {
    return rows_gone(run);
  }
  Result<void> done;
  for (const Record& record : rows.value()) {
    if (shown.is_reading(record.id.sequence)) {
      done = show_reading(shown, record);
    } else if (shown.shows_record(record.id.sequence)) {
      const std::string leaf = leaf_from_record(shown.readings.box_id, record);
      done = show(ExtractRecord{leaf}, leaf);
    } else {
      done = hide(1);
    }
    if (!done) {
      return done;
    }
  }
  return done;
}

Result<void> ExtractWriter::write_exchanges(const BoxRun& run, const ShownBoot& shown) {
  const std::int64_t last = run.number + static_cast<std::int64_t>(run.count) - 1;
  if (last < shown.first_ticks) {
    return hide(run.count);
  }
  const auto rows = exchanges_.take(connection_, run, last);
  if (!rows) {
    return Failure{rows.error()};
  }
  if (rows.value().size() != run.count) {
    return rows_gone(run);
  }
  const std::string& box_id = shown.readings.box_id;
  Result<void> done;
  for (const ClockExchange& exchange : rows.value()) {
    done = exchange.ticks_ms < shown.first_ticks
               ? hide(1)
               : show(ExtractExchange{box_id, shown.readings.boot, exchange},
                      leaf_from_exchange(box_id, shown.readings.boot, exchange));
    if (!done) {
      return done;
    }
  }
  return done;
}

Result<void> ExtractWriter::write_gaps(const BoxRun& run, const ShownBoot& shown) {
  static const std::string sql = std::string("SELECT ") + kGapColumns +
                                 " FROM gaps WHERE box = ? AND boot = ? AND first_sequence BETWEEN "
                                 "? AND ? AND last_sequence = ? ORDER BY first_sequence";
  const auto rows =
      read_rows(connection_, sql, gap_from_row, run.box, run.boot, run.number,
                run.number + static_cast<std::int64_t>(run.count) - 1, run.last_number);
  if (!rows) {
    return Failure{rows.error()};
  }
  if (rows.value().size() != run.count) {
    return rows_gone(run);
  }
  Result<void> done;
  for (Gap gap : rows.value()) {
    gap.box_id = shown.readings.box_id;
    if (done = show(logged_gap_from(gap), leaf_from_gap(gap)); !done) {
      return done;
    }
  }
  return done;
}

Result<void> ExtractWriter::hide(std::uint64_t count) {
  summary_.hidden_entries += count;
  const std::uint64_t end = position_ + count;
  Result<void> done;
  while (done && position_ < end) {
    position_ = bounds_.empty() ? end : std::min(end, *bounds_.begin());
    done = pass_bound();
  }
  return done;
}

// What was hidden since the last line, as the largest complete subtrees.
Result<void> ExtractWriter::write_hidden() {
  Result<void> done = tree_.size() < position_ ? write_pending() : Result<void>{};
  while (done && tree_.size() < position_) {
    const std::uint64_t begin = tree_.size();
    const auto level = static_cast<unsigned>(
        std::min(std::countr_zero(begin), std::countr_zero(std::bit_floor(position_ - begin))));
    const Result<Sha256> hash = nodes_.node_or_error({level, begin >> level});
    if (!hash) {
      return Failure{hash.error()};
    }
    tree_.add_subtree(level, hash.value());
    done = put(ExtractHash{level, hash.value()});
  }
  return done;
}

// No hash goes over the size of a checkpoint, so that its root can be computed.
Result<void> ExtractWriter::pass_bound() {
  if (bounds_.empty() || *bounds_.begin() != position_) {
    return {};
  }
  bounds_.erase(bounds_.begin());
  summary_.readings_below[position_] = summary_.readings;
  return write_hidden();
}

Result<void> ExtractWriter::show(const ExtractLine& line, std::string_view leaf) {
  Result<void> done = write_hidden();
  if (done) {
    done = write_pending();
  }
  if (done) {
    done = put(line);
  }
  tree_.add_leaf(leaf);
  ++position_;
  return done ? pass_bound() : done;
}

Result<void> ExtractWriter::show_reading(const ShownBoot& shown, const Record& record) {
  ++summary_.readings;
  const RecordSpan& span = shown.readings;
  const std::string leaf = leaf_from_record(span.box_id, record);
  if (!is_whole_in_file(record)) {
    return show(ExtractRecord{leaf}, leaf);
  }
  if (Result<void> done = write_hidden(); !done) {
    return done;
  }
  const bool goes_on =
      pending_ && pending_->box_id == span.box_id && pending_->boot == span.boot &&
      pending_->first_sequence + static_cast<std::int64_t>(pending_->count) == record.id.sequence;
  if (goes_on) {
    ++pending_->count;
  } else {
    if (Result<void> done = write_pending(); !done) {
      return done;
    }
    pending_ = {span.box_id, span.boot, record.id.sequence, 1};
  }
  tree_.add_leaf(leaf);
  ++position_;
  return pass_bound();
}

Result<void> ExtractWriter::write_pending() {
  const std::optional<ExtractRun> run = std::exchange(pending_, std::nullopt);
  return run ? put(*run) : Result<void>{};
}

Result<void> ExtractWriter::put(const ExtractLine& line) {
  piece_ += analysis::evidence::text_from(line) + "\n";
  if (piece_.size() < kPieceBytes) {
    return {};
  }
  return sink_(std::exchange(piece_, {}));
}

Result<void> ExtractWriter::finish() {
  Result<void> done = write_hidden();
  if (done) {
    done = write_pending();
  }
  if (done && tree_.root() != summary_.head.root) {
    return failure(ErrorCode::corrupt,
                   "store " + connection_.path() +
                       ": the rows of these readings are not those that its evidence log states");
  }
  return done ? sink_(piece_) : done;
}

}  // namespace

Result<ExtractSummary> write_log_extract(Connection& connection, const ExtractRequest& request,
                                         const ExtractSink& sink) {
  const Result<LogFrontier> frontier = read_frontier(connection);
  if (!frontier) {
    return Failure{frontier.error()};
  }
  if (request.size > frontier.value().size) {
    return failure(ErrorCode::invalid_input,
                   "store " + connection.path() + ": its evidence log has " +
                       std::to_string(frontier.value().size) + " entries, an extract of " +
                       std::to_string(request.size) + " was asked for");
  }
  return ExtractWriter(connection, request, sink).run(frontier.value());
}

}  // namespace logger::store
