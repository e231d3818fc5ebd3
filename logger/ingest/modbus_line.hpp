// The master's end of a line to Modbus devices, whatever carries it: one request, one reply, with a
// deadline of the given Clock. Several devices may share a line; exchanges are serialised by the
// caller (one coroutine a line). Event loop thread only. Knows frame lengths, not their meaning.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "logger/ingest/clock.hpp"
#include "logger/store/error.hpp"

namespace logger::ingest {

using store::Error;
using store::ErrorCode;
using store::Result;

class ModbusLine {
 public:
  ModbusLine() = default;
  ModbusLine(const ModbusLine&) = delete;
  ModbusLine& operator=(const ModbusLine&) = delete;
  virtual ~ModbusLine() = default;

  // Nothing to do when it is connected. Errors: unavailable, with the line named.
  virtual boost::asio::awaitable<Result<void>> open() = 0;
  // Opens the line when needed, sends `request` and returns the whole reply, both as RTU frames
  // with a right check sum, so that one form is known above; a network carries their PDU. A late
  // reply to an earlier request is dropped. Errors: unavailable (as open(), or lost meanwhile),
  // timeout (no whole reply within `deadline`), corrupt (a reply that is none, or of another unit
  // or function).
  virtual boost::asio::awaitable<Result<std::vector<std::uint8_t>>> exchange(
      std::span<const std::uint8_t> request, Micros deadline) = 0;
  // At once; a running open() or exchange() returns unavailable.
  virtual void close() = 0;

  // Time `bytes` of both frames take on their way; a deadline has to cover it.
  [[nodiscard]] virtual Micros carrying_time(std::size_t bytes) const = 0;
  // For people: "/dev/serial/by-id/...", "192.0.2.7:502".
  [[nodiscard]] virtual std::string name() const = 0;
};

// Waiting time before the n-th attempt in a row to open a line: 1 s, doubled up to 60 s, for ever.
[[nodiscard]] Micros reopen_delay(unsigned failed_attempts);

}  // namespace logger::ingest
