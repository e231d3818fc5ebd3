// Wakes one waiting coroutine of the event loop; how a callback (a timer of the Clock, arrived
// bytes) reaches a coroutine. Event loop thread only. Carries no value and has no deadline of its
// own.
#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/async_result.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <cassert>
#include <memory>
#include <type_traits>
#include <utility>

namespace logger::ingest {

class Signal {
 public:
  explicit Signal(boost::asio::any_io_executor executor) : executor_(std::move(executor)) {}
  Signal(const Signal&) = delete;
  Signal& operator=(const Signal&) = delete;

  // Returns at once when raise() was called since the last wait. REQUIRES: nobody else waits, and
  // the Signal outlives the wait.
  boost::asio::awaitable<void> wait() {
    if (!raised_) {
      co_await boost::asio::async_initiate<const boost::asio::use_awaitable_t<>&, void()>(
          [this](auto&& handler) {
            using Handler = std::decay_t<decltype(handler)>;
            assert(!waiter_);
            waiter_ = std::make_unique<Holder<Handler>>(std::forward<decltype(handler)>(handler));
          },
          boost::asio::use_awaitable);
    }
    raised_ = false;
  }

  // The waiter runs later on the event loop, never inside this call.
  void raise() {
    raised_ = true;
    if (waiter_) {
      boost::asio::post(executor_, [waiter = std::move(waiter_)] { waiter->resume(); });
    }
  }

  // Forgets a raise() nobody has waited for.
  void clear() { raised_ = false; }

 private:
  struct Waiter {
    Waiter() = default;
    Waiter(const Waiter&) = delete;
    Waiter& operator=(const Waiter&) = delete;
    virtual ~Waiter() = default;
    virtual void resume() = 0;
  };
  template <class Handler>
  struct Holder final : Waiter {
    explicit Holder(Handler handler) : handler_(std::move(handler)) {}
    void resume() override { std::move(handler_)(); }
    Handler handler_;
  };

  boost::asio::any_io_executor executor_;
  std::unique_ptr<Waiter> waiter_;
  bool raised_ = false;
};

}  // namespace logger::ingest
