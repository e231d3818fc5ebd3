// Something that records come from: a probe box that keeps them, or a transmitter that is polled.
// Event loop thread only.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "analysis/base/clock_map.hpp"
#include "analysis/base/record.hpp"
#include "logger/store/error.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::ingest {

// What one collection brought. Nothing of it is on disk yet.
struct Harvest {
  // Boot first, as a store's batch takes it. The error covers half the round trip and one tick; the
  // error of the host's own clock is not in it.
  std::pair<std::uint32_t, analysis::base::ClockExchange> exchange;
  // Increasing by id, after the last committed one, repeats left out.
  std::vector<analysis::base::Record> records;
  std::vector<store::Gap> gaps;  // noted now; none overlaps another, or a record that is known
  // What to release once all of this is committed; nullopt = nothing. Also set when nothing new
  // came but the source still holds, or lists as lost, what is committed by then.
  std::optional<analysis::base::RecordId> release_through;
  bool more = false;                   // the source holds more records than were asked for
  bool rebooted = false;               // another boot than this source, or else `after`, knew
  std::string refusal;                 // what the device will not answer now; empty = nothing
  std::vector<store::Error> warnings;  // for the log; the records are kept as they are
};

class RecordSource {
 public:
  RecordSource() = default;
  RecordSource(const RecordSource&) = delete;
  RecordSource& operator=(const RecordSource&) = delete;
  virtual ~RecordSource() = default;

  // The records after `after` (the last committed one; nullopt = none yet), at most `max_records`.
  // REQUIRES: max_records > 0.
  virtual boost::asio::awaitable<store::Result<Harvest>> collect(
      std::optional<analysis::base::RecordId> after, std::size_t max_records) = 0;
  // Everything up to `last` may be forgotten. Only after `last`, and the gaps of the same harvest,
  // are committed. Repeating it does no harm.
  virtual boost::asio::awaitable<store::Result<void>> release(analysis::base::RecordId last) = 0;
  // How long it goes on from its last answer before records are lost; nullopt = not known.
  [[nodiscard]] virtual std::optional<analysis::base::Micros> memory_time() const = 0;
};

}  // namespace logger::ingest
