// Collects the records of one probe box over a serial line and releases them there. Passes on what
// the box says, statuses included; judges no value. Event loop thread only.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "analysis/base/clock_map.hpp"
#include "analysis/base/record.hpp"
#include "logger/ingest/box_records.hpp"
#include "logger/ingest/serial_line.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::ingest {

struct BoxAddress {
  std::string box_id;        // of the job; names the box in errors and gaps
  int unit = 1;              // Modbus address on the line, 1..247
  std::uint64_t serial = 0;  // the box that must answer
};

// What one collection brought. Nothing of it is on disk yet.
struct Harvest {
  BoxIdentity identity;
  // Boot first, as a store's batch takes it. The error covers half the round trip and one tick; the
  // error of the host's own clock is not in it.
  std::pair<std::uint32_t, analysis::base::ClockExchange> exchange;
  std::vector<Record> records;   // increasing by id, after `after`, repeats left out
  std::vector<store::Gap> gaps;  // noted now; none overlaps another, or a record that is known
  // What to release once all of this is committed; nullopt = nothing. Also set when nothing new
  // came but the box still holds, or lists as lost, what is committed by then.
  std::optional<RecordId> release_through;
  bool more = false;            // the box holds more records than were asked for
  bool rebooted = false;        // another boot than this reader, or else `after`, knew
  std::vector<Error> warnings;  // a box clock that runs backwards; its records are kept as they are
};

class BoxReader {
 public:
  // `line` and `clock` outlive the reader.
  BoxReader(SerialLine& line, Clock& clock, BoxAddress address);
  BoxReader(const BoxReader&) = delete;
  BoxReader& operator=(const BoxReader&) = delete;

  // Reads the identity, the ranges the box lost and the records after `after` (the last committed
  // one; nullopt = all it holds), at most `max_records`. What the box still holds of older ones is
  // read again, since it releases only what was read since its start. A hole in the sequence is
  // read again before it is reported; a record whose CRC-32 is wrong is read three times, and
  // reported as a corrupt gap as soon as a good one follows it. Each exchange is tried three times.
  //
  // REQUIRES: max_records > 0.
  // Errors: those of SerialLine::exchange; not_found (another box answers: nothing is believed);
  // unsupported (no probe box, or another version of the register map); invalid_input (`after`
  // can't be a record of a box); corrupt (`after` is a record the box has never taken); what an
  // exception of the box says, with its number.
  boost::asio::awaitable<Result<Harvest>> collect(std::optional<RecordId> after,
                                                  std::size_t max_records);

  // Lets the box forget everything up to `last`. Only after `last`, and the gaps of the same
  // harvest, are committed. Repeating it does no harm. Errors: as collect.
  boost::asio::awaitable<Result<void>> release(RecordId last);

  [[nodiscard]] const BoxAddress& address() const { return address_; }

 private:
  struct Reading;  // the state of one collection
  struct Pass;     // the windows after one select
  template <class T>
  using Awaitable = boost::asio::awaitable<Result<T>>;
  using Bytes = std::vector<std::uint8_t>;
  using Slots = std::vector<std::optional<Record>>;

  // A whole exchange, tried three times; the reply fits the request.
  Awaitable<Bytes> ask(std::uint8_t function, std::uint16_t address, std::uint16_t quantity,
                       std::span<const std::uint8_t> values);
  // Bytes of `count` registers, as on the wire.
  Awaitable<Bytes> read(std::uint16_t first, std::uint16_t count);
  Awaitable<void> write_command(std::uint16_t first, RecordId id);
  Awaitable<void> read_identity(Reading& reading);
  Awaitable<void> read_lost(Reading& reading);
  Awaitable<Slots> read_window(std::size_t index);
  Awaitable<void> read_records(Reading& reading);
  Awaitable<Pass> read_pass(RecordId wanted, RecordId newest, std::size_t enough_records);
  Awaitable<void> read_holes_again(Reading& reading);
  void conclude(Reading& reading);
  void warn_of_clock(Harvest& harvest);
  [[nodiscard]] store::Failure in_box(const Error& error) const;

  SerialLine& line_;
  Clock& clock_;
  BoxAddress address_;
  std::optional<std::uint32_t> known_boot_;
  std::optional<Record> last_record_;  // of the collection before
};

}  // namespace logger::ingest
