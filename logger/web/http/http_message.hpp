// A request and its answer as plain values, so that everything above the server can be tested, and
// fuzzed, without a socket.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/base/time.hpp"

namespace logger::web {

using analysis::base::UtcMicros;

class EventFeed;

struct Header {
  std::string name;  // lower case
  std::string value;
};

// What came over one connection, within the server's limits of size and time. Nothing in it is
// trusted.
struct Request {
  std::string method;  // as sent: "GET"
  std::string target;  // as sent: "/api/v1/status?room=a"
  std::vector<Header> headers;
  std::string body;
  std::string peer_address;  // of the socket, without port
  bool over_tls = false;
  UtcMicros at;  // by the logger's clock
};
// The first of that name (lower case); nullptr when there is none.
[[nodiscard]] const std::string* header_of(const Request& request, std::string_view name);

struct Response {
  int status = 200;
  std::vector<Header> headers{};  // without content-length, which the server adds
  std::string body{};
  // Not null: the body stays open and carries what the feed gives (text/event-stream).
  std::shared_ptr<EventFeed> feed{};
};

// Called once for each request, on the thread of the server, now or later.
using Answer = std::function<void(Response)>;

// Answers requests. handle is called on the server's thread and must not block.
class RequestHandler {
 public:
  RequestHandler() = default;
  RequestHandler(const RequestHandler&) = delete;
  RequestHandler& operator=(const RequestHandler&) = delete;
  virtual ~RequestHandler() = default;
  virtual void handle(const Request& request, Answer answer) = 0;
};

}  // namespace logger::web
