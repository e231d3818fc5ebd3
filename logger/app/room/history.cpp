#include "logger/app/room/history.hpp"

#include <algorithm>
#include <utility>

namespace logger::app {

using analysis::base::ClockMap;
using analysis::base::kEndOfTicks;
using store::Result;

namespace {

constexpr std::size_t kChunkRecords = 1024;

// Walks the dated records of one box in order, a chunk at a time.
class BoxCursor {
 public:
  BoxCursor(store::ReadingStore& store, std::string box_id, const HistoryQuery& query)
      : store_(store), box_id_(std::move(box_id)), query_(query) {}

  Result<void> start() {
    auto boots = store_.boots(box_id_);
    if (!boots) {
      return store::Failure{boots.error()};
    }
    boots_ = std::move(boots).value();
    const auto after = query_.after.find(box_id_);
    if (after != query_.after.end()) {
      const RecordId last = after->second;
      std::erase_if(boots_, [last](const store::BootSpan& span) {
        return RecordId{span.boot, span.last_sequence} <= last;
      });
      if (!boots_.empty() && boots_.front().boot == last.boot) {
        boots_.front().first_sequence = std::max(boots_.front().first_sequence, last.sequence + 1);
      }
    }
    return advance();
  }

  [[nodiscard]] bool done() const { return !current_.has_value(); }
  [[nodiscard]] const Record& record() const { return chunk_[position_]; }
  [[nodiscard]] DatedTime at() const { return *current_; }
  [[nodiscard]] const std::string& box_id() const { return box_id_; }

  // To the next dated record inside the query.
  Result<void> advance() {
    while (true) {
      if (current_) {
        ++position_;
        current_.reset();
      }
      if (position_ >= chunk_.size()) {
        const auto more = load();
        if (!more) {
          return store::Failure{more.error()};
        }
        if (!more.value()) {
          return {};
        }
      }
      const auto dated = map_->utc_from_ticks(chunk_[position_].ticks_ms);
      if (dated && query_.to && dated->at > *query_.to) {
        boots_.clear();  // later boots are later still
        chunk_.clear();
        return {};
      }
      if (dated && (!query_.from || dated->at >= *query_.from)) {
        current_ = dated;
        return {};
      }
      ++position_;
    }
  }

 private:
  // The next chunk of the boot at hand or of the next one; false at the end.
  Result<bool> load() {
    while (true) {
      if (!map_) {
        if (boots_.empty()) {
          chunk_.clear();
          position_ = 0;
          return false;
        }
        const auto opened = open_boot();
        if (!opened) {
          return store::Failure{opened.error()};
        }
        continue;
      }
      chunk_.clear();
      position_ = 0;
      const std::uint32_t boot = boots_.front().boot;
      const auto visited =
          store_.visit_records(box_id_, {boot, next_sequence_},
                               {boot, boots_.front().last_sequence}, [this](const Record& record) {
                                 chunk_.push_back(record);
                                 return chunk_.size() < kChunkRecords;
                               });
      if (!visited) {
        return store::Failure{visited.error()};
      }
      if (!chunk_.empty()) {
        next_sequence_ = chunk_.back().id.sequence + 1;
        return true;
      }
      boots_.erase(boots_.begin());
      map_.reset();
    }
  }

  // Dates the first boot of boots_ and finds where the query begins in it; drops the boot when it
  // can't be dated.
  Result<void> open_boot() {
    const store::BootSpan span = boots_.front();
    next_sequence_ = span.first_sequence;
    const auto from_ticks = first_ticks(span);
    if (!from_ticks) {
      return store::Failure{from_ticks.error()};
    }
    auto map = clock_map_of(store_, box_id_, span.boot, from_ticks.value());
    if (!map) {
      return store::Failure{map.error()};
    }
    if (!map.value().utc_from_ticks(0)) {
      boots_.erase(boots_.begin());
      return {};
    }
    if (query_.from) {
      const auto begin =
          store_.find_by_ticks(box_id_, span.boot, *map.value().ticks_from_utc(*query_.from));
      if (!begin) {
        return store::Failure{begin.error()};
      }
      next_sequence_ = begin.value() ? std::max(next_sequence_, begin.value()->sequence)
                                     : span.last_sequence + 1;
    }
    map_.emplace(std::move(map).value());
    return {};
  }

  Result<std::int64_t> first_ticks(const store::BootSpan& span) {
    if (!query_.from) {
      return -kEndOfTicks;
    }
    const auto newest = clock_map_of(store_, box_id_, span.boot, kEndOfTicks);
    if (!newest) {
      return store::Failure{newest.error()};
    }
    return first_dating_ticks(newest.value(), query_.from);
  }

  store::ReadingStore& store_;
  std::string box_id_;
  const HistoryQuery& query_;
  std::vector<store::BootSpan> boots_;  // the boot at hand first
  std::optional<ClockMap> map_;
  std::vector<Record> chunk_;
  std::size_t position_ = 0;
  std::int64_t next_sequence_ = 0;
  std::optional<DatedTime> current_;
};

}  // namespace

Result<ClockMap> clock_map_of(store::ReadingStore& store, const std::string& box_id,
                              std::uint32_t boot, std::int64_t from_ticks_ms) {
  const auto exchanges = store.exchanges(box_id, boot, from_ticks_ms, kEndOfTicks);
  if (!exchanges) {
    return store::Failure{exchanges.error()};
  }
  return ClockMap(exchanges.value(), analysis::base::plausible_exchanges_from(boot));
}

Result<std::optional<DatedTime>> dated_record(store::ReadingStore& store, const std::string& box_id,
                                              RecordId id) {
  std::optional<std::int64_t> ticks_ms;
  const auto visited = store.visit_records(box_id, id, id, [&](const Record& record) {
    ticks_ms = record.ticks_ms;
    return false;
  });
  if (!visited) {
    return store::Failure{visited.error()};
  }
  if (!ticks_ms) {
    return std::optional<DatedTime>{};
  }
  const auto map = clock_map_of(store, box_id, id.boot, *ticks_ms);
  if (!map) {
    return store::Failure{map.error()};
  }
  return map.value().utc_from_ticks(*ticks_ms);
}

Result<std::int64_t> undated_records(store::ReadingStore& store, const std::string& box_id) {
  const auto boots = store.boots(box_id);
  if (!boots) {
    return store::Failure{boots.error()};
  }
  std::int64_t undated = 0;
  for (const store::BootSpan& span : boots.value()) {
    const auto map = clock_map_of(store, box_id, span.boot, kEndOfTicks);
    if (!map) {
      return store::Failure{map.error()};
    }
    if (!map.value().utc_from_ticks(0)) {
      undated += span.last_sequence - span.first_sequence + 1;
    }
  }
  return undated;
}

Result<std::int64_t> visit_history(store::ReadingStore& store, const HistoryQuery& query,
                                   const HistoryVisitor& visitor) {
  std::vector<BoxCursor> cursors;
  cursors.reserve(query.box_ids.size());
  for (const std::string& box_id : query.box_ids) {
    cursors.emplace_back(store, box_id, query);
    const auto started = cursors.back().start();
    if (!started) {
      return store::Failure{started.error()};
    }
  }
  std::int64_t records_visited = 0;
  while (true) {
    BoxCursor* earliest = nullptr;
    for (BoxCursor& cursor : cursors) {
      if (!cursor.done() && (earliest == nullptr || cursor.at().at < earliest->at().at)) {
        earliest = &cursor;
      }
    }
    if (earliest == nullptr || (query.enough && query.enough())) {
      break;
    }
    visitor(earliest->box_id(), earliest->record(), earliest->at());
    ++records_visited;
    const auto advanced = earliest->advance();
    if (!advanced) {
      return store::Failure{advanced.error()};
    }
  }
  return records_visited;
}

}  // namespace logger::app
