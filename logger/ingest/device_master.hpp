// Asks one Modbus device on a line: whole exchanges, tried again, replies that fit what was asked.
// Event loop thread only.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "firmware-sim/core/modbus_frame.hpp"
#include "logger/ingest/clock.hpp"
#include "logger/ingest/modbus_line.hpp"

namespace logger::ingest {

struct DeviceAddress {
  std::string box_id;  // of the job; names the device in errors
  int unit = 1;        // Modbus address on the line, 1..247
  // What the device may take to answer, beyond the time on the wire.
  Micros answer_within{500'000};
};

// What a device answered: the registers of a read, or that it refuses.
struct Answer {
  std::vector<std::uint8_t> register_bytes;  // as on the wire
  std::uint8_t exception_code = 0;           // 0 = it did what was asked
};

class DeviceMaster {
 public:
  // `line` outlives the master.
  DeviceMaster(ModbusLine& line, DeviceAddress address)
      : line_(line), address_(std::move(address)) {}

  // An exchange is tried three times, once where the device gave no answer at all the last time: a
  // dead device must not keep the others of its line waiting. `unit` of the request is set here.
  // Errors: those of ModbusLine::exchange, and corrupt for a reply that does not fit, all with
  // device and line named.
  boost::asio::awaitable<Result<Answer>> ask(firmware::core::Request request);
  boost::asio::awaitable<Result<void>> open();

  // "box A (unit 1 on /dev/...): " before the text.
  [[nodiscard]] store::Failure failure_in_device(const Error& error) const;
  [[nodiscard]] const DeviceAddress& address() const { return address_; }

 private:
  ModbusLine& line_;
  DeviceAddress address_;
  bool silent_ = false;
};

// "exception 02 (illegal data address) to function 03 at register 0x0100"
[[nodiscard]] Error error_from_exception(std::uint8_t exception_code,
                                         const firmware::core::Request& request);

}  // namespace logger::ingest
