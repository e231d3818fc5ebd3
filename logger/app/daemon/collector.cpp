#include "logger/app/daemon/collector.hpp"

#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <limits>
#include <nlohmann/json.hpp>
#include <utility>

#include "logger/ingest/box_reader.hpp"
#include "logger/ingest/registers/register_reader.hpp"
#include "logger/ingest/serial_line.hpp"
#include "logger/ingest/tcp_line.hpp"
#include "logger/store/json_line.hpp"

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
// Where a transmitter shares the line, a box with a backlog lets it come in between: 80 records
// take 2.2 s at 19,200 baud (hardware/register-map.md).
constexpr std::size_t kRecordsPerTurn = 80;
// Of a device that does not answer, unless it is due more seldom anyway.
constexpr Micros kLongestRetry{60'000'000};
constexpr std::int64_t kEndOfTicks = std::numeric_limits<std::int64_t>::max() / 4;

}  // namespace

struct Collector::BoxState {
  const JobBox* box = nullptr;
  std::unique_ptr<ingest::RecordSource> source;
  std::optional<RecordId> collected;  // newest record in the store or in the round at hand
  std::optional<RecordId> to_release;
  std::optional<std::pair<std::uint32_t, ClockExchange>> last_exchange;
  std::optional<UtcMicros> last_sample_at;
  std::optional<Micros> time_error;
  std::optional<bool> link_up;     // nullopt = not tried yet
  std::optional<Micros> asked_at;  // monotonic; nullopt = due at once
  unsigned failures = 0;           // in a row
  std::optional<UtcMicros> answered_at;
  std::optional<std::uint16_t> flags;  // of the records of this round; of the newest one before
  std::optional<std::uint16_t> newest_flags;
  std::optional<Micros> not_before;  // a probe box keeps its records while nothing can be written
  std::string refusal;
};

struct Collector::LineOfBoxes {
  std::string key;  // what boxes on the same line have in common
  std::unique_ptr<ingest::ModbusLine> line;
  std::vector<BoxState> boxes;
  std::size_t records_per_round = kRecordsPerRound;
};

struct Collector::Gathering {
  explicit Gathering(boost::asio::any_io_executor executor) : line_done(std::move(executor)) {}
  CollectedRound round;
  std::size_t lines_at_work = 0;
  ingest::Signal line_done;
};

namespace {

ingest::RegisterDevice device_from(const JobBox& box) {
  ingest::RegisterDevice device;
  device.address = {box.id, box.unit, box.registers->answer_within};
  device.identity = box.registers->identity;
  for (const JobChannel& channel : box.channels) {
    device.channels.push_back({static_cast<std::size_t>(channel.index), channel.source.value()});
  }
  return device;
}

}  // namespace

Collector::Collector(boost::asio::io_context& loop, ingest::Clock& clock,
                     ingest::LineObserver* observer, const Job& job, store::ReadingStore& committed)
    : executor_(loop.get_executor()), clock_(clock), job_(job), committed_(committed) {
  for (const JobBox& box : job.boxes) {
    if (!box.csv) {
      add_box(loop, observer, box);
    }
  }
}

void Collector::add_box(boost::asio::io_context& loop, ingest::LineObserver* observer,
                        const JobBox& box) {
  const std::string key = line_of(box);
  auto place = std::find_if(lines_.begin(), lines_.end(),
                            [&](const auto& known) { return known->key == key; });
  if (place == lines_.end()) {
    auto line = std::make_unique<LineOfBoxes>();
    line->key = key;
    if (box.host.empty()) {
      line->line = std::make_unique<ingest::SerialLine>(
          loop, clock_, observer,
          ingest::SerialSettings{box.port, box.baud, box.parity, box.stop_bits});
    } else {
      line->line = std::make_unique<ingest::TcpLine>(
          loop, clock_, ingest::TcpSettings{box.host, static_cast<std::uint16_t>(box.tcp_port)});
    }
    place = lines_.insert(lines_.end(), std::move(line));
  }
  LineOfBoxes& line = **place;
  BoxState& state = line.boxes.emplace_back();
  state.box = &box;
  if (box.registers) {
    state.source = std::make_unique<ingest::RegisterReader>(*line.line, clock_, device_from(box));
    line.records_per_round = kRecordsPerTurn;
  } else {
    state.source = std::make_unique<ingest::BoxReader>(
        *line.line, clock_, ingest::BoxAddress{box.id, box.unit, box.serial});
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

void Collector::hold_back(Micros wait) {
  for (const auto& line : lines_) {
    for (BoxState& box : line->boxes) {
      if (!box.box->registers) {
        box.asked_at.reset();
        box.not_before = clock_.monotonic_now() + wait;
      }
    }
  }
}

boost::asio::awaitable<CollectedRound> Collector::collect(Extent extent) {
  for (const auto& line : lines_) {
    for (BoxState& box : line->boxes) {
      box.flags = box.link_up.value_or(false) ? box.newest_flags : std::nullopt;
    }
  }
  Gathering gathering(executor_);
  gathering.lines_at_work = lines_.size();
  for (const auto& line : lines_) {
    boost::asio::co_spawn(executor_, collect_line(*line, extent, gathering), boost::asio::detached);
  }
  while (gathering.lines_at_work > 0) {
    co_await gathering.line_done.wait();
  }
  co_return std::move(gathering.round);
}

boost::asio::awaitable<void> Collector::collect_line(LineOfBoxes& line, Extent extent,
                                                     Gathering& gathering) {
  for (BoxState& box : line.boxes) {
    if (until_due(box, extent) == Micros{0}) {
      co_await collect_box(box, line.records_per_round, gathering.round);
    }
  }
  --gathering.lines_at_work;
  gathering.line_done.raise();
}

// Polls keep to a grid, so that one late poll does not move those that follow.
void Collector::note_asked(BoxState& box, bool more) const {
  const Micros now = clock_.monotonic_now();
  const Micros interval = std::chrono::seconds(box.box->sample_interval_s);
  if (more) {
    box.asked_at.reset();
  } else if (box.box->registers && box.failures == 0 && box.asked_at &&
             now - *box.asked_at < 2 * interval) {
    *box.asked_at += interval;
  } else {
    box.asked_at = now;
  }
}

Micros Collector::until_due(const BoxState& box, Extent extent) const {
  if (extent == Extent::all) {
    return Micros{0};
  }
  if (!box.asked_at) {
    const Micros now = clock_.monotonic_now();
    return std::max(box.not_before.value_or(now) - now, Micros{0});
  }
  Micros wait =
      std::chrono::seconds(box.box->registers ? box.box->sample_interval_s : job_.collect_every_s);
  if (extent == Extent::hurried) {
    wait = std::min<Micros>(wait, std::chrono::seconds(box.box->sample_interval_s));
  }
  if (box.failures > 0) {
    wait = std::max(wait, std::min(wait * (1 << std::min(box.failures, 6U)), kLongestRetry));
  }
  return std::max(*box.asked_at + wait - clock_.monotonic_now(), Micros{0});
}

Micros Collector::until_due(Extent extent) const {
  Micros wait = std::chrono::seconds(job_.collect_every_s);
  for (const auto& line : lines_) {
    for (const BoxState& box : line->boxes) {
      wait = std::min(wait, until_due(box, extent));
    }
  }
  return wait;
}

boost::asio::awaitable<void> Collector::collect_box(BoxState& box, std::size_t most_records,
                                                    CollectedRound& round) {
  auto harvest = co_await box.source->collect(box.collected, most_records);
  box.failures = harvest ? 0 : box.failures + 1;
  note_asked(box, harvest && harvest.value().more);
  if (!harvest) {
    note_link(box, false, harvest.error().context, round);
    co_return;
  }
  note_link(box, true, "", round);
  box.answered_at = clock_.utc_now();
  const auto dated = date_harvest(box, harvest.value(), round);
  if (!dated) {
    add_event(round, "dating_failed", box.box->id, json({{"reason", dated.error().context}}));
    co_return;  // nothing of it is kept, so the box keeps it
  }
  if (box.refusal != harvest.value().refusal) {
    box.refusal = harvest.value().refusal;
    add_event(round, box.refusal.empty() ? "registers_read" : "registers_refused", box.box->id,
              box.refusal.empty() ? json::object() : json({{"reason", box.refusal}}));
  }
  for (const store::Error& warning : harvest.value().warnings) {
    add_event(round, "box_warning", box.box->id, json({{"text", warning.context}}));
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
    add_event(round, "boot", box.box->id, json({{"boot", boot}}));
  }
  anchors.push_back(exchange);
  std::map<std::uint32_t, ClockMap> maps;
  maps.emplace(boot, ClockMap(anchors, kEarliestPlausibleUtc));
  std::uint16_t flags = 0;
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
    flags = static_cast<std::uint16_t>(flags | record.flags);
    box.newest_flags = record.flags;
    // A record that can't be dated yet was heard all the same.
    box.last_sample_at = at ? at->at : clock_.utc_now();
    box.time_error = at ? std::optional(at->error) : std::nullopt;
  }
  if (!harvest.records.empty()) {
    box.flags = flags;
  }
  const bool clock_was_set = anchors.size() == 2 && anchors.front().utc < kEarliestPlausibleUtc &&
                             exchange.utc >= kEarliestPlausibleUtc;
  for (const auto& step : maps.at(boot).steps()) {
    round.clock_step = step.size;
    add_event(round, "clock_step", box.box->id,
              json({{"step_us", step.size.count()}, {"ticks_ms", step.ticks_ms}}));
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
        const auto released = co_await box.source->release(*box.to_release);
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
      now.push_back({box.box->id, box.last_sample_at, box.link_up.value_or(false), box.flags,
                     box.time_error});
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
  json detail = json::object();
  if (!up) {
    detail["reason"] = reason;
    const auto memory = box.source->memory_time();
    if (memory == Micros{0}) {
      detail["keeps_records"] = false;
    } else if (memory && box.answered_at) {
      detail["records_kept_until_utc"] =
          analysis::base::rfc3339_from_utc(*box.answered_at + *memory);
    }
  }
  add_event(round, up ? "link_up" : "link_down", box.box->id, detail);
}

void Collector::add_event(CollectedRound& round, const std::string& kind,
                          const std::string& subject, const json& detail) const {
  round.events.push_back({0, clock_.utc_now(), kind, subject, store::json_line(detail)});
}

}  // namespace logger::app
