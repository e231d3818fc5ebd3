// How a coroutine of the event loop waits: for a while, or for another thread.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <memory>
#include <optional>
#include <utility>

#include "logger/ingest/clock.hpp"
#include "logger/ingest/signal.hpp"

namespace logger::app {

// Until `signal` is raised or `longest` of the clock's time has passed. `signal` outlives the wait.
inline boost::asio::awaitable<void> wait_at_most(ingest::Clock& clock, ingest::Signal& signal,
                                                 ingest::Micros longest) {
  const auto timer = clock.call_after(longest, [&signal] { signal.raise(); });
  co_await signal.wait();
  clock.cancel(timer);
}

// Carries one result from another thread into the event loop.
template <class T>
class Crossing : public std::enable_shared_from_this<Crossing<T>> {
 public:
  explicit Crossing(boost::asio::any_io_executor executor) : signal_(std::move(executor)) {}

  // On the other thread.
  void hand_over(boost::asio::io_context& loop, T value) {
    boost::asio::post(loop, [self = this->shared_from_this(), value = std::move(value)]() mutable {
      self->value_.emplace(std::move(value));
      self->signal_.raise();
    });
  }
  // On the event loop.
  boost::asio::awaitable<T> result() {
    while (!value_) {
      co_await signal_.wait();
    }
    co_return std::move(*value_);
  }

 private:
  ingest::Signal signal_;
  std::optional<T> value_;
};

}  // namespace logger::app
