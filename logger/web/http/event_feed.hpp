// What an open text/event-stream carries (HTML Living Standard, server-sent events). Server's
// thread only.
#pragma once

#include <functional>
#include <string>

namespace logger::web {

class EventFeed {
 public:
  EventFeed() = default;
  EventFeed(const EventFeed&) = delete;
  EventFeed& operator=(const EventFeed&) = delete;
  virtual ~EventFeed() = default;

  // The server asks again whenever it has written everything. Calls `ready` once, now or later,
  // with bytes to send; an empty text ends the stream. What a slow reader missed meanwhile is
  // joined, never queued without bound.
  virtual void next(std::function<void(std::string)> ready) = 0;
  // The connection is gone; `ready` is not called any more.
  virtual void close() = 0;
};

}  // namespace logger::web
