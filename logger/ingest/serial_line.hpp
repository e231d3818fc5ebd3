// A serial line to Modbus devices (MODBUS over Serial Line V1.02, RTU mode).
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/serial_port.hpp>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "logger/ingest/line_settings.hpp"
#include "logger/ingest/modbus_line.hpp"
#include "logger/ingest/signal.hpp"

namespace logger::ingest {

enum class LineState : std::uint8_t {
  disconnected,  // closed; the next exchange at or after next_attempt_at() opens it
  opening,       // open, waiting until the observer lets bytes flow
  connected,
};

// Shortest silence between two frames: 3.5 characters of 11 bits, 1.75 ms above 19,200 baud.
// Source: MODBUS over serial line specification and implementation guide V1.02, 2.5.1.1.
[[nodiscard]] Micros silence_between_frames(int baud);

// Time `bytes` take on the wire, characters of 11 bits.
[[nodiscard]] Micros time_on_wire(int baud, std::size_t bytes);

class SerialLine final : public ModbusLine {
 public:
  // `clock` and `observer` (nullptr = none) outlive the line. Opens nothing yet.
  SerialLine(boost::asio::io_context& loop, Clock& clock, LineObserver* observer,
             SerialSettings settings);
  // REQUIRES: no open() or exchange() is running; close() makes a running one return.
  ~SerialLine() override;

  // Opens the port raw, 8 data bits, for this process alone, drops stale bytes and waits for the
  // observer. unavailable also before next_attempt_at(), and for settings the port refuses.
  boost::asio::awaitable<Result<void>> open() override;

  // An echo of the request, as a half-duplex adapter gives it, is skipped. `deadline` counts from
  // handing the request to the port, so it has to cover carrying_time().
  boost::asio::awaitable<Result<std::vector<std::uint8_t>>> exchange(
      std::span<const std::uint8_t> request, Micros deadline) override;

  // No back-off follows.
  void close() override;

  [[nodiscard]] Micros carrying_time(std::size_t bytes) const override {
    return time_on_wire(settings_.baud, bytes);
  }
  [[nodiscard]] std::string name() const override { return settings_.port; }
  [[nodiscard]] LineState state() const { return state_; }
  // Monotonic time from which a disconnected line may be opened again; nullopt = at once.
  [[nodiscard]] std::optional<Micros> next_attempt_at() const { return next_attempt_at_; }
  // Attempts to open that failed, and connections lost, since bytes came last.
  [[nodiscard]] unsigned failures_in_a_row() const { return failures_; }
  [[nodiscard]] const SerialSettings& settings() const { return settings_; }

 private:
  struct ReadLoop;
  class Timer;

  Result<void> open_port();
  void start_reading();
  static boost::asio::awaitable<void> read_until_closed(std::unique_ptr<ReadLoop> loop);
  void shut_port();
  void disconnect(const std::string& reason, int os_errno);
  [[nodiscard]] store::Failure unavailable() const;
  boost::asio::awaitable<void> wait_for_silence();
  [[nodiscard]] bool may_answer_late(std::span<const std::uint8_t> request) const;
  boost::asio::awaitable<void> wait_for_late_reply(std::span<const std::uint8_t> request);
  bool send(std::span<const std::uint8_t> request);
  // The reply at the front of what came; nullopt = not whole yet.
  Result<std::optional<std::vector<std::uint8_t>>> take_reply(
      std::span<const std::uint8_t> request);

  Clock& clock_;
  LineObserver* observer_;
  SerialSettings settings_;
  boost::asio::any_io_executor executor_;
  boost::asio::serial_port port_;
  Signal signal_;  // bytes came, the line closed, a timer ran out or the observer is ready
  ReadLoop* read_loop_ = nullptr;  // reader of this opening, owned by its own coroutine
  LineState state_ = LineState::disconnected;
  unsigned failures_ = 0;
  std::optional<Micros> next_attempt_at_;
  Error lost_;                          // why it is disconnected
  std::uint64_t opening_ = 0;           // counts openings, so that a late `ready` opens nothing
  std::vector<std::uint8_t> received_;  // since the last request
  std::optional<Micros> last_byte_at_;  // monotonic, sent or received
  bool unanswered_ = false;             // the reply of an earlier request may still come
  // The request whose reply may come late, and until when: no reply says what it answers.
  std::vector<std::uint8_t> late_request_;
  std::optional<Micros> late_until_;
};

}  // namespace logger::ingest
