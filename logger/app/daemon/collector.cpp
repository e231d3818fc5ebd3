#include "logger/app/daemon/collector.hpp"

#include <algorithm>
#include <limits>
#include <nlohmann/json.hpp>
#include <utility>

namespace logger::app {

using analysis::base::ClockExchange;
using analysis::base::ClockMap;
using ingest::Harvest;
using nlohmann::json;
using store::Result;

namespace {
// A round takes a third of a day of one-minute records from each box, so that one box with a long
// backlog keeps neither the others nor a commit waiting.
constexpr std::size_t kRecordsPerRound = 480;
constexpr std::int64_t kEndOfTicks = std::numeric_limits<std::int64_t>::max() / 4;

std::string text_of(const json& object) {
  return object.dump(-1, ' ', false, json::error_handler_t::replace);
}

}  // namespace

struct Collector::BoxState {
  const JobBox* box = nullptr;
  std::unique_ptr<ingest::BoxReader> reader;
  std::optional<RecordId> collected;  // newest record in the store or in the round at hand
  std::optional<RecordId> to_release;
  std::optional<std::pair<std::uint32_t, ClockExchange>> last_exchange;
  std::optional<UtcMicros> last_sample_at;
  std::optional<bool> link_up;  // nullopt = not tried yet
};

struct Collector::LineOfBoxes {
  std::unique_ptr<ingest::SerialLine> line;
  std::vector<BoxState> boxes;
};

Collector::Collector(boost::asio::io_context& loop, ingest::Clock& clock,
                     ingest::LineObserver* observer, const Job& job, store::ReadingStore& committed)
    : clock_(clock), committed_(committed) {
  std::map<std::string, LineOfBoxes*> by_port;
  for (const JobBox& box : job.boxes) {
    if (box.csv) {
      continue;
    }
    LineOfBoxes*& place = by_port[box.port];
    if (place == nullptr) {
      lines_.push_back(std::make_unique<LineOfBoxes>());
      place = lines_.back().get();
      place->line = std::make_unique<ingest::SerialLine>(
          loop, clock, observer, ingest::SerialSettings{box.port, box.baud});
    }
    BoxState& state = place->boxes.emplace_back();
    state.box = &box;
    state.reader = std::make_unique<ingest::BoxReader>(
        *place->line, clock, ingest::BoxAddress{box.id, box.unit, box.serial});
  }
}

Collector::~Collector() = default;

Result<void> Collector::load() {
  for (const auto& line : lines_) {
    for (BoxState& state : line->boxes) {
      const auto last = committed_.last_record(state.box->id);
      if (!last) {
        return store::Failure{last.error()};
      }
      state.to_release.reset();
      state.collected.reset();
      state.last_exchange.reset();
      if (!last.value()) {
        continue;
      }
      state.collected = last.value()->id;
      const auto at = dated_record(committed_, state.box->id, *state.collected);
      const auto exchanges =
          committed_.exchanges(state.box->id, state.collected->boot, kEndOfTicks, kEndOfTicks);
      if (!at || !exchanges) {
        return store::Failure{!at ? at.error() : exchanges.error()};
      }
      if (at.value()) {
        state.last_sample_at = at.value()->at;
      }
      if (!exchanges.value().empty()) {
        state.last_exchange = {state.collected->boot, exchanges.value().back()};
      }
    }
  }
  return {};
}

boost::asio::awaitable<CollectedRound> Collector::collect() {
  CollectedRound round;
  for (const auto& line : lines_) {
    for (BoxState& box : line->boxes) {
      co_await collect_box(box, round);
    }
  }
  co_return round;
}

boost::asio::awaitable<void> Collector::collect_box(BoxState& box, CollectedRound& round) {
  auto harvest = co_await box.reader->collect(box.collected, kRecordsPerRound);
  if (!harvest) {
    note_link(box, false, harvest.error().context, round);
    co_return;
  }
  note_link(box, true, "", round);
  const auto dated = date_harvest(box, harvest.value(), round);
  if (!dated) {
    add_event(round, "dating_failed", box.box->id, text_of({{"reason", dated.error().context}}));
    co_return;  // nothing of it is kept, so the box keeps it
  }
  for (const store::Error& warning : harvest.value().warnings) {
    add_event(round, "box_warning", box.box->id, text_of({{"text", warning.context}}));
  }
  round.more = round.more || harvest.value().more;
  round.gaps.insert(round.gaps.end(), harvest.value().gaps.begin(), harvest.value().gaps.end());
  box.to_release = harvest.value().release_through;
  if (!harvest.value().records.empty()) {
    box.collected = harvest.value().records.back().id;
  }
  round.boxes.push_back(
      {box.box->id, std::move(harvest.value().records), {harvest.value().exchange}});
}

Result<void> Collector::date_harvest(BoxState& box, const Harvest& harvest, CollectedRound& round) {
  const auto& [boot, exchange] = harvest.exchange;
  std::vector<ClockExchange> anchors;
  if (box.last_exchange && box.last_exchange->first == boot) {
    anchors.push_back(box.last_exchange->second);
  } else if (box.last_exchange) {
    add_event(round, "boot", box.box->id, text_of({{"boot", boot}}));
  }
  anchors.push_back(exchange);
  std::map<std::uint32_t, ClockMap> maps;
  maps.emplace(boot, ClockMap(anchors, kEarliestPlausibleUtc));
  for (const Record& record : harvest.records) {
    auto map = maps.find(record.id.boot);
    if (map == maps.end()) {  // taken before the box restarted, so dated by what is stored
      auto older = clock_map_of(committed_, box.box->id, record.id.boot, record.ticks_ms);
      if (!older) {
        return store::Failure{older.error()};
      }
      map = maps.emplace(record.id.boot, std::move(older).value()).first;
    }
    const auto at = map->second.utc_from_ticks(record.ticks_ms);
    round.records.push_back({box.box->id, record, at});
    if (at) {
      box.last_sample_at = at->at;
    }
  }
  const bool clock_was_set = anchors.size() == 2 && anchors.front().utc < kEarliestPlausibleUtc &&
                             exchange.utc >= kEarliestPlausibleUtc;
  for (const auto& step : maps.at(boot).steps()) {
    round.clock_step = step.size;
    add_event(round, "clock_step", box.box->id,
              text_of({{"step_us", step.size.count()}, {"ticks_ms", step.ticks_ms}}));
  }
  if (clock_was_set || !maps.at(boot).steps().empty()) {
    round.redated_boxes.push_back(box.box->id);
  }
  box.last_exchange = harvest.exchange;
  return {};
}

boost::asio::awaitable<void> Collector::release_committed() {
  for (const auto& line : lines_) {
    for (BoxState& box : line->boxes) {
      if (box.to_release && box.link_up.value_or(false)) {
        const auto released = co_await box.reader->release(*box.to_release);
        if (released) {
          box.to_release.reset();
        }
      }
    }
  }
}

std::vector<BoxNow> Collector::boxes() const {
  std::vector<BoxNow> now;
  for (const auto& line : lines_) {
    for (const BoxState& box : line->boxes) {
      now.push_back({box.box->id, box.last_sample_at, box.link_up.value_or(false)});
    }
  }
  return now;
}

void Collector::note_link(BoxState& box, bool up, const std::string& reason,
                          CollectedRound& round) {
  if (box.link_up == up) {
    return;
  }
  box.link_up = up;
  add_event(round, up ? "link_up" : "link_down", box.box->id,
            up ? "{}" : text_of({{"reason", reason}}));
}

void Collector::add_event(CollectedRound& round, const std::string& kind,
                          const std::string& subject, const std::string& detail_json) const {
  round.events.push_back({0, clock_.utc_now(), kind, subject, detail_json});
}

}  // namespace logger::app
