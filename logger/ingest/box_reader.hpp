// Collects the records of one probe box over a serial line and releases them there. Passes on what
// the box says, statuses included; judges no value. Event loop thread only.
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
#include "logger/ingest/box_registers.hpp"
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
  std::vector<Record> records;   // by id, repeats left out
  std::vector<store::Gap> gaps;  // noted now; none overlaps another or a record that was asked for
  bool more = false;             // the box holds more records than were asked for
  bool rebooted = false;         // another boot than this reader or `after` knew
  std::vector<Error> warnings;  // a box clock that runs backwards; the records are kept as they are
};

class BoxReader {
 public:
  // `line` and `clock` outlive the reader.
  BoxReader(SerialLine& line, Clock& clock, BoxAddress address);
  BoxReader(const BoxReader&) = delete;
  BoxReader& operator=(const BoxReader&) = delete;

  // Reads the identity, the ranges the box lost and the records after `after` (the last committed
  // one; nullopt = all it holds), at most `max_records`. A hole in the sequence is read again
  // before it is reported; a record whose CRC-32 is wrong is read three times, then reported as a
  // corrupt gap as soon as a good record follows it. Each exchange is tried three times. REQUIRES:
  // max_records > 0. Errors: those of SerialLine::exchange; not_found (another box answers: nothing
  // is believed); unsupported (no probe box, or another version of the register map); invalid_input
  // (`after` can't be a record of a box); what the box's exception says.
  boost::asio::awaitable<Result<Harvest>> collect(std::optional<RecordId> after,
                                                  std::size_t max_records);

  // Lets the box forget everything up to `last`. Call it only after `last` is committed. Repeating
  // it does no harm. Errors: as collect.
  boost::asio::awaitable<Result<void>> release(RecordId last);

  [[nodiscard]] const BoxAddress& address() const { return address_; }

 private:
  struct Reading;  // the state of one collection

  boost::asio::awaitable<Result<std::vector<std::uint16_t>>> read_registers(std::uint16_t first,
                                                                            std::uint16_t count);
  boost::asio::awaitable<Result<void>> write_command(std::uint16_t first, RecordId id);
  boost::asio::awaitable<Result<void>> read_identity(Reading& reading);
  boost::asio::awaitable<Result<void>> read_lost(Reading& reading);
  boost::asio::awaitable<Result<Window>> read_window(std::size_t index);
  boost::asio::awaitable<Result<void>> read_records(Reading& reading);
  boost::asio::awaitable<Result<void>> read_holes_again(Reading& reading);
  Error in_box(Error error) const;

  SerialLine& line_;
  Clock& clock_;
  BoxAddress address_;
  std::optional<std::uint32_t> known_boot_;
};

}  // namespace logger::ingest
