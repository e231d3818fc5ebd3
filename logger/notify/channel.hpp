// One way to reach one recipient. deliver blocks and is for the worker thread; waiting for a server
// is I/O, so its time-outs are real monotonic time and not the logger's clock.
#pragma once

#include <memory>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "analysis/base/time.hpp"
#include "logger/store/error.hpp"

namespace logger::notify {

using analysis::base::UtcMicros;
using store::Result;

struct Attachment {
  std::string file_name;
  std::string content_type;
  std::string bytes;
};

// One message to one recipient, complete.
struct Outgoing {
  // The same at every attempt and never used for another message, so that a recipient can tell a
  // repeat: Message-ID, idempotency key, MQTT property.
  std::string id;
  std::string kind;  // "transition", "reminder", "escalation", "digest", "test",
                     // "held" (several that quiet hours kept back)
  UtcMicros at;
  std::string subject;  // one line
  std::string text;     // for people, lines of at most 78 characters
  std::string json;     // for programs, one line: dwellog-alert/1 or dwellog-digest/1
  std::string html{};   // empty = text alone
  std::vector<Attachment> attachments{};
};

class Channel {
 public:
  Channel() = default;
  Channel(const Channel&) = delete;
  Channel& operator=(const Channel&) = delete;
  virtual ~Channel() = default;
  // Success = the other side took it over. Errors: invalid_input (it will never take it: refused
  // address, 4xx), timeout, unavailable (try again), io.
  virtual Result<void> deliver(const Outgoing& message, const std::stop_token& stop) = 0;
};

}  // namespace logger::notify
