// Polls a transmitter that keeps no records. Each poll becomes a record as a box would make it: the
// boot counts the sessions of this logger, the ticks are its monotonic time since the session
// began, and what is not committed yet is kept here. What nobody polled, and what was not committed
// when the logger ended, is lost: such a device remembers nothing. Event loop thread only.
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "logger/ingest/clock.hpp"
#include "logger/ingest/device_master.hpp"
#include "logger/ingest/record_source.hpp"
#include "logger/ingest/registers/register_map.hpp"

namespace logger::ingest {

struct RegisterChannel {
  std::size_t index = 0;  // of the record, 0..7
  RegisterSource source;
};

struct RegisterDevice {
  DeviceAddress address;
  std::vector<RegisterChannel> channels;
  std::optional<DeviceIdentity> identity;
};

class RegisterReader final : public RecordSource {
 public:
  // Records kept while nothing can be committed; at one a minute two days. Older ones are lost
  // then, and told as a gap.
  static constexpr std::size_t kMostWaiting = 2880;

  // `line` and `clock` outlive the reader.
  RegisterReader(ModbusLine& line, Clock& clock, RegisterDevice device);

  // Polls once. Registers that the device refuses give no_answer to their channels, and are told; a
  // device that does not answer gives no record. Errors: those of DeviceMaster::ask; not_found
  // (another device answers). While records wait here an error of the poll is a warning, so that
  // they get on.
  boost::asio::awaitable<Result<Harvest>> collect(std::optional<analysis::base::RecordId> after,
                                                  std::size_t max_records) override;
  boost::asio::awaitable<Result<void>> release(analysis::base::RecordId last) override;
  // The device keeps nothing.
  [[nodiscard]] std::optional<Micros> memory_time() const override { return Micros{0}; }

 private:
  boost::asio::awaitable<Result<void>> check_identity();
  boost::asio::awaitable<Result<void>> poll();
  void keep(analysis::base::Record record);

  DeviceMaster master_;
  Clock& clock_;
  RegisterDevice device_;
  std::vector<RegisterSpan> spans_;
  std::uint32_t boot_ = 0;  // 0 = no session yet
  Micros session_began_{0};
  std::int64_t sequence_ = 0;
  std::string refusal_;                                    // of the last poll
  std::optional<analysis::base::ClockExchange> exchange_;  // of the last poll
  std::deque<analysis::base::Record> waiting_;             // increasing by id
  std::vector<store::Gap> lost_;                           // not committed yet
};

}  // namespace logger::ingest
