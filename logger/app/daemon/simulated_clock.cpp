#include "logger/app/daemon/simulated_clock.hpp"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/write.hpp>
#include <chrono>
#include <istream>
#include <sstream>
#include <utility>

namespace logger::app {

using ingest::Micros;
using ingest::UtcMicros;
using store::ErrorCode;
using store::failure;

SimulatedClock::SimulatedClock(boost::asio::io_context& context) : socket_(context) {}

store::Result<void> SimulatedClock::connect(const std::string& socket_path,
                                            const std::string& name) {
  boost::system::error_code error;
  const std::string where = "simulated time at " + socket_path;
  if (socket_path.size() > 100) {
    return failure(ErrorCode::invalid_input, where + ": the path is longer than 100 bytes");
  }
  socket_.connect(boost::asio::local::stream_protocol::endpoint(socket_path), error);
  if (error) {
    return failure(ErrorCode::unavailable, where + ": " + error.message(), error.value());
  }
  send_line("hello " + name);
  boost::asio::read_until(socket_, input_, '\n', error);
  if (error) {
    return failure(ErrorCode::unavailable, where + ": no time was given: " + error.message());
  }
  std::istream stream(&input_);
  std::string line;
  std::getline(stream, line);
  take_line(line);
  if (step_ == 0 && now_.value == 0) {
    return failure(ErrorCode::invalid_input,
                   where + ": expected `now STEP UTC_US [HOST_UTC_US]`, got `" + line + "`");
  }
  read_next_line();
  return {};
}

ingest::Clock::TimerId SimulatedClock::call_after(Micros delay, std::function<void()> handler) {
  const TimerId id = ++last_id_;
  const std::int64_t due = monotonic_now().count() + std::max<std::int64_t>(delay.count(), 0);
  timers_.emplace(std::pair{due, id}, std::move(handler));
  due_by_id_.emplace(id, due);
  if (due == monotonic_now().count()) {
    boost::asio::post(socket_.get_executor(), [this] { run_due_timers(); });
  }
  return id;
}

void SimulatedClock::cancel(TimerId id) {
  const auto found = due_by_id_.find(id);
  if (found != due_by_id_.end()) {
    timers_.erase({found->second, id});
    due_by_id_.erase(found);
  }
}

void SimulatedClock::run_due_timers() {
  while (!timers_.empty() && timers_.begin()->first.first <= monotonic_now().count()) {
    const auto handler = std::move(timers_.begin()->second);
    due_by_id_.erase(timers_.begin()->first.second);
    timers_.erase(timers_.begin());
    handler();
  }
}

std::optional<Micros> SimulatedClock::until_earliest_timer() const {
  if (timers_.empty()) {
    return std::nullopt;
  }
  return std::max(Micros{timers_.begin()->first.first} - monotonic_now(), Micros{0});
}

void SimulatedClock::expire_earliest_timer() {
  if (!timers_.empty()) {
    waited_after_end_ += until_earliest_timer().value_or(Micros{0});
    run_due_timers();
  }
}

void SimulatedClock::opened(const std::string& port, std::function<void()> ready) {
  if (ended_) {
    lines_[port] = Traffic{};
    boost::asio::post(socket_.get_executor(), std::move(ready));
    return;
  }
  lines_[port] = Traffic{0, 0, std::move(ready)};
  last_report_.clear();  // the server takes an earlier report back with each `open` and `closed`
  send_line("open " + port);
}

void SimulatedClock::closed(const std::string& port) {
  if (lines_.erase(port) != 0) {
    last_report_.clear();
    send_line("closed " + port);
  }
}

void SimulatedClock::sent(const std::string& port, std::size_t bytes) {
  const auto line = lines_.find(port);
  if (line != lines_.end()) {
    line->second.sent += bytes;
  }
}

void SimulatedClock::received(const std::string& port, std::size_t bytes) {
  const auto line = lines_.find(port);
  if (line != lines_.end()) {
    line->second.received += bytes;
  }
}

void SimulatedClock::report_idle() {
  std::ostringstream report;
  report << "idle " << step_ << ' ';
  if (timers_.empty()) {
    report << '-';
  } else {
    report << timers_.begin()->first.first;
  }
  for (const auto& [port, traffic] : lines_) {
    if (traffic.ready) {
      return;  // the line is not open yet, so this side waits for the server, not for time
    }
    report << ' ' << port << ' ' << traffic.sent << ' ' << traffic.received;
  }
  if (report.str() != last_report_) {
    last_report_ = report.str();
    send_line(last_report_);
  }
}

void SimulatedClock::read_next_line() {
  boost::asio::async_read_until(
      socket_, input_, '\n', [this](const boost::system::error_code& error, std::size_t /*size*/) {
        if (error) {
          dropped_ = !ended_;
          end();
          return;
        }
        std::istream stream(&input_);
        std::string line;
        std::getline(stream, line);
        take_line(line);
        if (!ended_) {
          read_next_line();
        }
      });
}

void SimulatedClock::take_line(const std::string& line) {
  std::istringstream words(line);
  std::string verb;
  words >> verb;
  if (verb == "now") {
    std::uint64_t step = 0;
    std::int64_t utc_us = 0;
    if (words >> step >> utc_us) {
      step_ = step;
      now_ = UtcMicros{utc_us};
      std::int64_t host_utc_us = utc_us;
      if (!(words >> host_utc_us)) {
        host_utc_us = utc_us;  // a failed extraction has written 0
      }
      host_offset_ = Micros{host_utc_us - utc_us};
      last_report_.clear();
      run_due_timers();
    }
  } else if (verb == "opened") {
    std::string port;
    words >> port;
    const auto found = lines_.find(port);
    if (found != lines_.end() && found->second.ready) {
      const auto ready = std::exchange(found->second.ready, nullptr);
      ready();
    }
  } else if (verb == "end") {
    end();
  }
}

void SimulatedClock::end() {
  if (!ended_) {
    ended_ = true;
    // Nobody answers any more, and no time that a line could miss will pass.
    for (auto& [port, traffic] : lines_) {
      if (traffic.ready) {
        boost::asio::post(socket_.get_executor(), std::exchange(traffic.ready, nullptr));
      }
    }
    if (on_end_) {
      on_end_();
    }
  }
}

void SimulatedClock::send_line(const std::string& line) {
  boost::system::error_code error;
  boost::asio::write(socket_, boost::asio::buffer(line + "\n"), error);
  if (error) {
    boost::asio::post(socket_.get_executor(), [this] { end(); });
  }
}

void run_simulated(boost::asio::io_context& context, SimulatedClock& clock,
                   const std::function<bool()>& busy, const std::function<bool()>& stopped) {
  constexpr std::chrono::milliseconds kOtherThread{1};
  constexpr std::chrono::seconds kNoMoreBytes{2};
  while (!stopped()) {
    // Asked before the loop is emptied: another thread hands its result over before it stops being
    // busy, so what it did before this answer is in the loop when poll() looks. The other way round
    // a result could arrive in between, and idle would be said with work left to do.
    const bool others_busy = busy();
    context.restart();
    if (context.poll() != 0) {
      continue;
    }
    context.restart();
    if (others_busy) {
      context.run_one_for(kOtherThread);
    } else if (!clock.ended()) {
      clock.report_idle();
      context.run_one();
    } else {
      // Short waits, such as the silence between two requests, last as long as they say; nobody
      // waits longer than it takes to see that no more bytes come.
      const Micros longest = std::chrono::duration_cast<Micros>(kNoMoreBytes);
      if (context.run_one_for(std::min(clock.until_earliest_timer().value_or(longest), longest)) ==
          0) {
        clock.expire_earliest_timer();
      }
    }
  }
}

}  // namespace logger::app
