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
#include "logger/ingest/clock.hpp"
#include "logger/ingest/device_master.hpp"
#include "logger/ingest/record_source.hpp"
#include "logger/store/reading_store.hpp"

namespace logger::ingest {

// The box that must answer at an address.
struct BoxAddress {
  std::string box_id;  // of the job; names the box in errors and gaps
  int unit = 1;        // Modbus address on the line, 1..247
  std::uint64_t serial = 0;
};

class BoxReader final : public RecordSource {
 public:
  // `line` and `clock` outlive the reader.
  BoxReader(ModbusLine& line, Clock& clock, BoxAddress address);

  // Reads the identity, the ranges the box lost and the records after `after` (the last committed
  // one; nullopt = all it holds), at most `max_records`. What the box still holds of older ones is
  // read again, since it releases only what was read since its start. A hole in the sequence is
  // read again before it is reported; a record whose CRC-32 is wrong is read three times, and
  // reported as a corrupt gap as soon as a good one follows it.
  //
  // Errors: those of ModbusLine::exchange; not_found (another box answers: nothing is believed);
  // unsupported (no probe box, or another version of the register map); invalid_input (`after`
  // can't be a record of a box); corrupt (`after` is a record the box has never taken); what an
  // exception of the box says, with its number.
  boost::asio::awaitable<Result<Harvest>> collect(std::optional<RecordId> after,
                                                  std::size_t max_records) override;

  // Errors: as collect.
  boost::asio::awaitable<Result<void>> release(RecordId last) override;

  // As full as the ring was then; it may lose up to a block of records earlier.
  [[nodiscard]] std::optional<Micros> memory_time() const override;

  // As the box told it last; all zero before.
  [[nodiscard]] const BoxIdentity& identity() const { return identity_; }

 private:
  struct Reading;  // the state of one collection
  struct Pass;     // the windows after one select
  template <class T>
  using Awaitable = boost::asio::awaitable<Result<T>>;
  using Bytes = std::vector<std::uint8_t>;
  using Slots = std::vector<std::optional<Record>>;

  // The registers of the answer; an exception is an error.
  Awaitable<Bytes> ask(const firmware::core::Request& request);
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
  [[nodiscard]] store::Failure in_box(const Error& error) const {
    return master_.failure_in_device(error);
  }

  DeviceMaster master_;
  Clock& clock_;
  BoxAddress address_;
  BoxIdentity identity_;
  std::optional<std::uint32_t> known_boot_;
  std::optional<Record> last_record_;  // of the collection before
};

}  // namespace logger::ingest
