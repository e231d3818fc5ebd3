// A request and its answer as plain values, so that everything above the server can be tested, and
// fuzzed, without a socket.
#pragma once

#include <cstddef>
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
  // What the server found wrong, as a status: 400 (no HTTP, or none
  // that can be trusted), 413 (longer
  // than body_limit, so the body was not read), 431 (header too long), 503 (too many long bodies at
  // once, this one was not read). 0 = nothing.
  int fault = 0;
};
// The first of that name (lower case); nullptr when there is none.
[[nodiscard]] const std::string* header_of(const Request& request, std::string_view name);

struct Response {
  int status = 200;
  std::vector<Header> headers{};  // without content-length, which the server adds
  std::string body{};             // whole for HEAD too; the server sends its length alone
  // Not null: the body stays open and carries what the feed gives (text/event-stream).
  std::shared_ptr<EventFeed> feed{};
};

// Called once for each request, on the thread of the server, now or later.
using Answer = std::function<void(Response)>;

// Answers requests. All is called on the server's thread and must not block.
class RequestHandler {
 public:
  static constexpr std::size_t kSmallBody = std::size_t{64} * 1024;

  RequestHandler() = default;
  RequestHandler(const RequestHandler&) = delete;
  RequestHandler& operator=(const RequestHandler&) = delete;
  virtual ~RequestHandler() = default;
  // The most bytes that a body may have, asked when the header is there and nothing else was read.
  [[nodiscard]] virtual std::size_t body_limit(const Request& head) {
    static_cast<void>(head);
    return kSmallBody;
  }
  virtual void handle(Request request, Answer answer) = 0;
};

}  // namespace logger::web
