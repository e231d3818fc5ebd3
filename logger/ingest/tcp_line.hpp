// Modbus devices behind a networked adapter (MODBUS Messaging on TCP/IP Implementation Guide
// V1.0b).
#pragma once

#include <array>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "logger/ingest/line_settings.hpp"
#include "logger/ingest/modbus_line.hpp"
#include "logger/ingest/signal.hpp"

namespace logger::ingest {

class TcpLine final : public ModbusLine {
 public:
  // `clock` outlives the line. Connects nothing yet.
  TcpLine(boost::asio::io_context& loop, Clock& clock, TcpSettings settings);
  // REQUIRES: no open() or exchange() is running; close() makes a running one return.
  ~TcpLine() override;

  // Waits for a connection for at most 5 s. unavailable also before the time of the next attempt.
  boost::asio::awaitable<Result<void>> open() override;
  boost::asio::awaitable<Result<std::vector<std::uint8_t>>> exchange(
      std::span<const std::uint8_t> request, Micros deadline) override;
  void close() override;

  // What an adapter may need for the serial line behind it at 9600 baud, and to switch.
  [[nodiscard]] Micros carrying_time(std::size_t bytes) const override;
  [[nodiscard]] std::string name() const override;

 private:
  // Of one connection; outlives the line by completions that are on their way already.
  struct Connection;

  boost::asio::awaitable<Result<void>> connect();
  static boost::asio::awaitable<void> establish(std::shared_ptr<Connection> connection,
                                                boost::asio::ip::tcp::endpoint end);
  static boost::asio::awaitable<void> read_until_closed(std::shared_ptr<Connection> connection);
  void drop(const std::string& reason, int os_errno);
  [[nodiscard]] store::Failure unavailable() const;
  bool send(std::span<const std::uint8_t> request);
  // The reply with the number of the last request, when it has come whole; others are dropped.
  Result<std::optional<std::vector<std::uint8_t>>> take_reply(
      std::span<const std::uint8_t> request);

  boost::asio::io_context& loop_;
  Clock& clock_;
  TcpSettings settings_;
  std::shared_ptr<Connection> connection_;  // nullptr = not connected
  Signal signal_;                           // bytes came, connected or lost, a timer ran out
  unsigned failures_ = 0;                   // in a row since bytes came last
  std::optional<Micros> next_attempt_at_;
  Error lost_;
  std::uint16_t number_ = 0;  // of the last request
};

}  // namespace logger::ingest
