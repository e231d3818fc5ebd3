// A serial line for tests: a real pseudo-terminal with a device on it, a clock that only the test
// moves, and the count of bytes that tells when nothing is on its way. No sleeps, no wall clock.
#pragma once

#include <array>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/posix/stream_descriptor.hpp>
#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

#include "firmware-sim/core/modbus_frame.hpp"
#include "logger/ingest/serial_line.hpp"

namespace ingest_test {

using logger::ingest::Micros;
using logger::ingest::UtcMicros;
using Bytes = std::vector<std::uint8_t>;

inline constexpr UtcMicros kStart{1'700'000'000'000'000};

class FakeClock final : public logger::ingest::Clock {
 public:
  [[nodiscard]] UtcMicros utc_now() const override { return kStart + monotonic_ + utc_step; }
  [[nodiscard]] Micros monotonic_now() const override { return monotonic_; }
  TimerId call_after(Micros delay, std::function<void()> handler) override;
  void cancel(TimerId id) override { timers_.erase(id); }

  // Moves to the earliest timer and runs it; false when there is none.
  bool fire_next();
  // For tests that let time pass while nothing waits.
  void advance(Micros by) { monotonic_ += by; }

  Micros utc_step{0};  // what somebody did to the host clock

 private:
  struct Entry {
    Micros due;
    std::function<void()> handler;
  };
  Micros monotonic_{0};
  TimerId next_id_ = 1;
  std::map<TimerId, Entry> timers_;
};

// The far end. It answers each request with `honest`, unless a step of the script does it instead.
class Device {
 public:
  using Step = std::function<void(Device&, const Bytes& request, const Bytes& honest_reply)>;

  Device(boost::asio::io_context& loop, FakeClock& clock, std::string link);
  Device(const Device&) = delete;
  Device& operator=(const Device&) = delete;
  ~Device();

  // A new pseudo-terminal under the same name, as a stable name of an adapter has it.
  void plug();
  void unplug();
  // The line was opened: both counts are zero from here.
  void begin();
  void send(const Bytes& bytes);
  // Sends when the clock has moved on by `delay`.
  void send_after(Micros delay, Bytes bytes);

  std::function<Bytes(const Bytes& request)> honest;
  std::deque<Step> script;  // one step for each request, then honest again
  std::vector<Bytes> requests;
  std::vector<Micros> request_times;
  bool echoes = false;
  bool deaf = false;  // reads nothing, as a stopped program does; set before the opening
  std::optional<std::size_t> unplug_after_bytes;  // of all bytes it sends from now on

  [[nodiscard]] bool plugged() const { return port_.is_open(); }
  std::size_t bytes_read = 0;
  std::size_t bytes_written = 0;

 private:
  void read_more();
  void take(std::size_t count);

  FakeClock& clock_;
  std::string link_;
  boost::asio::posix::stream_descriptor port_;
  std::array<std::uint8_t, 512> buffer_{};
  firmware::core::RequestAssembler assembler_;
};

struct LineBench : logger::ingest::LineObserver {
  explicit LineBench(int baud = 19200);
  ~LineBench() override;

  void opened(const std::string& port, std::function<void()> ready) override;
  void closed(const std::string& port) override;
  void sent(const std::string& port, std::size_t bytes) override;
  void received(const std::string& port, std::size_t bytes) override;

  // Runs the loop, and time where nothing else is left to do, until `work` is done.
  template <class T>
  T run(boost::asio::awaitable<T> work) {
    std::optional<T> result;
    boost::asio::co_spawn(loop, keep(std::move(work), result), boost::asio::detached);
    run_until([&result] { return result.has_value(); });
    return std::move(*result);
  }
  void run_until(const std::function<bool()>& done);
  // Runs what is ready or on the wire, without moving time.
  void settle();

  boost::asio::io_context loop;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> guard;
  FakeClock clock;
  std::string folder;
  std::string link;
  Device device;
  logger::ingest::SerialLine line;
  bool ready_at_once = true;
  std::function<void()> ready;  // kept when it is not at once
  bool line_open = false;
  int openings = 0;

 private:
  template <class T>
  static boost::asio::awaitable<void> keep(boost::asio::awaitable<T> work,
                                           std::optional<T>& result) {
    result.emplace(co_await std::move(work));
  }
  [[nodiscard]] bool on_its_way() const;
  void run_blocking();

  std::size_t sent_ = 0;
  std::size_t received_ = 0;
};

// The frame with its CRC-16 made right again.
[[nodiscard]] Bytes sealed(Bytes frame);
[[nodiscard]] Bytes bytes_from_hex(const std::string& hex);

}  // namespace ingest_test
