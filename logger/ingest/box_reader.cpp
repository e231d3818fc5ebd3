#include "logger/ingest/box_reader.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cstdio>
#include <string_view>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/core/wire_format.hpp"
#include "logger/ingest/round_trip.hpp"

namespace logger::ingest {

namespace core = firmware::core;
namespace asio = boost::asio;
using store::failure;
using store::Failure;

namespace {

// A record with a wrong check sum is read this often.
constexpr int kReadingsOfAWindow = 3;

std::string text_from_id(RecordId id) {
  return std::to_string(id.boot) + "/" + std::to_string(id.sequence);
}

Error out_of_step(RecordId wanted, RecordId got) {
  return {ErrorCode::corrupt,
          "answers out of step: record " + text_from_id(got) + " came where " +
              text_from_id(wanted) + " or a later one was asked for; what was read is dropped",
          0};
}

const std::optional<Record>* first_good(const std::vector<std::optional<Record>>& slots) {
  const auto found =
      std::find_if(slots.begin(), slots.end(), [](const auto& slot) { return slot.has_value(); });
  return found == slots.end() ? nullptr : &*found;
}

}  // namespace

struct BoxReader::Reading {
  Reading(std::optional<RecordId> known, std::size_t most)
      : after(known), max_records(most), sequence(known) {}
  std::optional<RecordId> after;
  std::size_t max_records;
  RecordSequence sequence;
  std::vector<SequenceRange> lost;
  bool ended = false;  // the box held nothing beyond what was read
  Harvest harvest;
};

struct BoxReader::Pass {
  Slots slots;
  std::size_t windows = 0;  // read

  // Where to go on: behind the last good record and what could not be believed after it; behind
  // all that the windows can hold where there was none.
  [[nodiscard]] RecordId next_after(RecordId wanted) const {
    for (std::size_t i = slots.size(); i > 0; --i) {
      if (slots[i - 1]) {
        const RecordId good = slots[i - 1]->id;
        return {good.boot, good.sequence + static_cast<std::int64_t>(slots.size() - i) + 1};
      }
    }
    return {wanted.boot,
            wanted.sequence + static_cast<std::int64_t>(windows * core::kWindowRecords)};
  }
};

BoxReader::BoxReader(ModbusLine& line, Clock& clock, BoxAddress address)
    : master_(line, {address.box_id, address.unit}), clock_(clock), address_(std::move(address)) {}

BoxReader::Awaitable<BoxReader::Bytes> BoxReader::ask(const core::Request& request) {
  auto answer = co_await master_.ask(request);
  if (!answer) {
    co_return Failure{answer.error()};
  }
  if (answer.value().exception_code != 0) {
    co_return in_box(error_from_exception(answer.value().exception_code, request));
  }
  co_return std::move(answer.value().register_bytes);
}

BoxReader::Awaitable<BoxReader::Bytes> BoxReader::read(std::uint16_t first, std::uint16_t count) {
  const core::Request request{0, core::kReadHoldingRegisters, first, count, {}};
  co_return co_await ask(request);
}

BoxReader::Awaitable<void> BoxReader::write_command(std::uint16_t first, RecordId id) {
  const auto key = key_from_id(id);
  if (!key) {
    co_return in_box({ErrorCode::invalid_input,
                      "record " + text_from_id(id) + " can't be a record of a box", 0});
  }
  std::array<std::uint8_t, 2 * core::kCommandSize> bytes{};
  core::RegisterWriter writer(bytes);
  writer.put_u32(0, key->boot);
  writer.put_u32(2, key->sequence);
  const core::Request request{0, core::kWriteMultipleRegisters, first, core::kCommandSize, bytes};
  auto reply = co_await ask(request);
  if (!reply) {
    co_return Failure{reply.error()};
  }
  co_return Result<void>{};
}

BoxReader::Awaitable<void> BoxReader::read_identity(Reading& reading) {
  // Opened before, so that the wait for a port is not in the round trip. A repeated read is dated
  // from its first try: the reply may be the late one to that.
  if (auto opened = co_await master_.open(); !opened) {
    co_return Failure{opened.error()};
  }
  RoundTrip round_trip(clock_);
  auto bytes = co_await read(core::kRegIdentity, core::kIdentitySize);
  round_trip.end();
  if (!bytes) {
    co_return Failure{bytes.error()};
  }
  auto identity = identity_from_registers(core::RegisterView(bytes.value()));
  if (!identity) {
    co_return in_box(identity.error());
  }
  if (identity.value().serial != address_.serial) {
    co_return in_box({ErrorCode::not_found,
                      "another box answers: serial " + std::to_string(identity.value().serial) +
                          ", expected " + std::to_string(address_.serial),
                      0});
  }
  identity_ = identity.value();
  reading.harvest.exchange = {identity.value().boot,
                              round_trip.exchange(identity.value().ticks_ms)};
  co_return Result<void>{};
}

BoxReader::Awaitable<void> BoxReader::read_lost(Reading& reading) {
  auto bytes = co_await read(core::kRegLost, core::kLostSize);
  if (!bytes) {
    co_return Failure{bytes.error()};
  }
  auto lost = lost_from_registers(core::RegisterView(bytes.value()));
  if (!lost) {
    co_return in_box(lost.error());
  }
  reading.lost = std::move(lost).value();
  co_return Result<void>{};
}

BoxReader::Awaitable<BoxReader::Slots> BoxReader::read_window(std::size_t index) {
  const auto first = static_cast<std::uint16_t>(core::kRegWindow + index * core::kWindowStride);
  Slots best;
  for (int i = 0; i < kReadingsOfAWindow; ++i) {
    auto bytes = co_await read(first, core::kWindowSize);
    if (!bytes) {
      co_return Failure{bytes.error()};
    }
    auto window = window_from_registers(core::RegisterView(bytes.value()));
    if (!window) {
      co_return in_box(window.error());
    }
    best = std::move(window).value();
    if (std::all_of(best.begin(), best.end(), [](const auto& slot) { return slot.has_value(); })) {
      break;
    }
  }
  co_return std::move(best);
}

// A window can be short in the middle too, where the box has lost a record in its memory; so only
// the newest record is the end.
BoxReader::Awaitable<BoxReader::Pass> BoxReader::read_pass(RecordId wanted, RecordId newest,
                                                           std::size_t enough_records) {
  if (auto selected = co_await write_command(core::kRegSelect, wanted); !selected) {
    co_return Failure{selected.error()};
  }
  Pass pass;
  while (pass.windows < core::kWindows && pass.slots.size() < enough_records &&
         pass.next_after(wanted) <= newest) {
    auto window = co_await read_window(pass.windows);
    if (!window) {
      co_return Failure{window.error()};
    }
    ++pass.windows;
    pass.slots.insert(pass.slots.end(), window.value().begin(), window.value().end());
  }
  if (const auto* first = first_good(pass.slots); first != nullptr && (*first)->id < wanted) {
    co_return in_box(out_of_step(wanted, (*first)->id));
  }
  co_return std::move(pass);
}

BoxReader::Awaitable<void> BoxReader::read_records(Reading& reading) {
  const BoxIdentity& identity = identity_;
  const std::optional<RecordId> after = reading.after;
  if (after && (after->boot > identity.boot || (identity.held > 0 && identity.newest < *after))) {
    co_return in_box({ErrorCode::corrupt,
                      "record " + text_from_id(*after) +
                          " is known, but the box has only come to " +
                          text_from_id({identity.boot, identity.newest.sequence}) +
                          ": its memory was erased or exchanged, so it needs a new id in the job",
                      0});
  }
  if (identity.held == 0) {
    reading.ended = true;
    co_return Result<void>{};
  }
  RecordId wanted = identity.oldest;
  if (after && *after < wanted) {
    wanted = {after->boot, after->sequence + 1};
  }
  // A box that never comes to an end is broken. Twice, as it may take samples while it is read.
  std::size_t windows_left = 2 * (identity.capacity / core::kWindowRecords + core::kWindows);
  const auto& records = reading.sequence.records();
  while (!reading.ended && records.size() < reading.max_records) {
    auto read = co_await read_pass(wanted, identity.newest, reading.max_records - records.size());
    if (!read) {
      co_return Failure{read.error()};
    }
    const Pass& pass = read.value();
    if (pass.windows > windows_left) {
      co_return in_box({ErrorCode::corrupt, "the box gives more records than it can hold", 0});
    }
    windows_left -= pass.windows;
    std::size_t used = 0;
    while (used < pass.slots.size() && records.size() < reading.max_records) {
      reading.sequence.add(pass.slots[used]);
      ++used;
    }
    wanted = pass.next_after(wanted);
    reading.ended = wanted > identity.newest && used == pass.slots.size();
  }
  co_return Result<void>{};
}

// No reply carries a number of its own, so a hole may be a late reply taken for another window.
// Only a hole that is there on the second look is one.
BoxReader::Awaitable<void> BoxReader::read_holes_again(Reading& reading) {
  const auto& holes = reading.sequence.holes();
  const auto is_missing = [](const Hole& hole) { return !hole.corrupt; };
  if (std::none_of(holes.begin(), holes.end(), is_missing)) {
    co_return Result<void>{};
  }
  // The box may have overwritten records while it was read.
  if (auto lost = co_await read_lost(reading); !lost) {
    co_return Failure{lost.error()};
  }
  for (const Hole& hole : holes) {
    if (hole.corrupt) {
      continue;
    }
    const RecordId wanted{hole.range.boot, hole.range.first};
    auto read = co_await read_pass(wanted, identity_.newest, 1);
    if (!read) {
      co_return Failure{read.error()};
    }
    const auto* first = first_good(read.value().slots);
    const RecordId end{hole.range.boot, hole.range.last};
    if (first != nullptr && (*first)->id <= end) {
      co_return in_box(out_of_step({end.boot, end.sequence + 1}, (*first)->id));
    }
  }
  co_return Result<void>{};
}

void BoxReader::warn_of_clock(Harvest& harvest) {
  std::size_t backward = 0;
  std::optional<std::pair<Record, Record>> first;
  std::optional<Record> previous = last_record_;
  for (const Record& record : harvest.records) {
    if (previous && previous->id < record.id && previous->id.boot == record.id.boot &&
        record.ticks_ms < previous->ticks_ms) {
      ++backward;
      first = first ? first : std::pair(*previous, record);
    }
    previous = record;
  }
  last_record_ = previous;
  if (first) {
    harvest.warnings.push_back(
        in_box({ErrorCode::corrupt,
                "its clock runs backwards at " + std::to_string(backward) +
                    " records, first from " + std::to_string(first->first.ticks_ms) +
                    " ms at record " + text_from_id(first->first.id) + " to " +
                    std::to_string(first->second.ticks_ms) + " ms at record " +
                    text_from_id(first->second.id) + "; the records are kept as they are",
                0})
            .error);
  }
}

void BoxReader::conclude(Reading& reading) {
  Harvest& harvest = reading.harvest;
  harvest.records = reading.sequence.records();
  harvest.gaps = reading.sequence.gaps(reading.lost);
  for (store::Gap& gap : harvest.gaps) {
    gap.box_id = address_.box_id;
    gap.noted_at = clock_.utc_now();
  }
  const BoxIdentity& identity = identity_;
  if (!harvest.records.empty()) {
    harvest.release_through = harvest.records.back().id;
  } else if (reading.after &&
             (!reading.lost.empty() || (identity.held > 0 && identity.oldest <= *reading.after))) {
    harvest.release_through = reading.after;
  }
  harvest.more = !reading.ended;
  const std::optional<std::uint32_t> boot_before =
      known_boot_ || !reading.after ? known_boot_ : reading.after->boot;
  harvest.rebooted = boot_before && *boot_before != identity.boot;
  known_boot_ = identity.boot;
  warn_of_clock(harvest);
}

asio::awaitable<Result<Harvest>> BoxReader::collect(std::optional<RecordId> after,
                                                    std::size_t max_records) {
  assert(max_records > 0);
  Reading reading(after, max_records);
  auto done = co_await read_identity(reading);
  if (done) {
    done = co_await read_lost(reading);
  }
  if (done) {
    done = co_await read_records(reading);
  }
  if (done) {
    done = co_await read_holes_again(reading);
  }
  if (!done) {
    co_return Failure{done.error()};
  }
  conclude(reading);
  co_return std::move(reading.harvest);
}

std::optional<Micros> BoxReader::memory_time() const {
  if (identity_.capacity == 0) {
    return std::nullopt;
  }
  const std::int64_t left =
      std::max<std::int64_t>(std::int64_t{identity_.capacity} - identity_.held, 0);
  return std::chrono::seconds(left * identity_.sample_interval_s);
}

asio::awaitable<Result<void>> BoxReader::release(RecordId last) {
  co_return co_await write_command(core::kRegRelease, last);
}

}  // namespace logger::ingest
