#include "logger/web/http/connection.hpp"

#include <algorithm>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/string_body.hpp>
#include <cstdint>

#include "logger/web/http/event_feed.hpp"

namespace logger::web {

namespace asio = boost::asio;
namespace http = boost::beast::http;
using std::chrono::milliseconds;
using std::chrono::seconds;

namespace {

constexpr std::size_t kReadAtOnce = 16384;
constexpr std::size_t kWriteAtOnce = 65536;
constexpr std::size_t kBytesOfASecond = 16384;  // of a long body, beyond the limit of time
constexpr seconds kParting{2};
constexpr std::size_t kPartingBytes = std::size_t{1} << 20U;

milliseconds time_for_body(std::size_t limit, milliseconds least) {
  const std::size_t beyond = limit - std::min(limit, RequestHandler::kSmallBody);
  return least + seconds(static_cast<std::int64_t>(beyond / kBytesOfASecond));
}

std::string lower_case(std::string_view text) {
  std::string lower{text};
  std::transform(lower.begin(), lower.end(), lower.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
  return lower;
}

std::string head_of(const Response& response, bool keep_alive) {
  const auto reason =
      http::obsolete_reason(http::int_to_status(static_cast<unsigned>(response.status)));
  std::string head = "HTTP/1.1 " + std::to_string(response.status) + ' ';
  head.append(reason.data(), reason.size()).append("\r\n");
  for (const Header& header : response.headers) {
    head += header.name + ": " + header.value + "\r\n";
  }
  if (!response.feed && response.status != 204 && response.status != 304) {
    head += "content-length: " + std::to_string(response.body.size()) + "\r\n";
  }
  // A feed ends where the connection does.
  head +=
      keep_alive && !response.feed ? "connection: keep-alive\r\n\r\n" : "connection: close\r\n\r\n";
  return head;
}

}  // namespace

struct Connection::Parsing {
  explicit Parsing(std::size_t& long_bodies_of_all) : long_bodies(long_bodies_of_all) {}
  Parsing(const Parsing&) = delete;
  Parsing& operator=(const Parsing&) = delete;
  ~Parsing() { long_bodies -= is_long ? 1U : 0U; }

  http::request_parser<http::string_body> parser;
  Request request;
  std::size_t& long_bodies;
  bool is_long = false;
  bool over = false;  // nothing to answer: the peer is gone, or too slow
};

Connection::Connection(std::shared_ptr<ByteStream> stream, std::string peer_address,
                       ConnectionSurroundings& surroundings)
    : stream_(std::move(stream)),
      peer_address_(std::move(peer_address)),
      surroundings_(surroundings),
      deadline_(stream_->socket().get_executor()),
      wake_(stream_->socket().get_executor()) {}

Connection::~Connection() = default;

void Connection::close() {
  if (closed_) {
    return;
  }
  closed_ = true;
  Error ignored;
  stream_->socket().close(ignored);
  deadline_.cancel();
  wake_.cancel();
  if (feed_) {
    feed_->close();
    feed_.reset();
  }
}

void Connection::close_after(milliseconds delay) {
  if (closed_) {
    return;
  }
  deadline_.expires_after(delay);
  deadline_.async_wait([self = shared_from_this()](const Error& error) {
    if (!error) {
      self->close();
    }
  });
}

asio::awaitable<void> Connection::serve() {
  const auto self = shared_from_this();
  close_after(surroundings_.limits->header);
  Error error;
  co_await stream_->handshake(error);
  bool goes_on = !error;
  while (goes_on && !closed_) {
    goes_on = co_await answer_one();
  }
  close();
}

// False when the connection is to be closed.
asio::awaitable<bool> Connection::answer_one() {
  Parsing parsing{surroundings_.long_bodies};
  co_await read_header(parsing);
  if (parsing.over) {
    co_return false;
  }
  co_await read_body(parsing);
  if (parsing.over) {
    co_return false;
  }
  deadline_.cancel();
  response_.reset();
  Answer answer = [self = shared_from_this()](Response response) {
    self->response_ = std::move(response);
    self->wake_.cancel();
  };
  const bool is_head = parsing.request.method == "HEAD";
  const bool keep_alive = parsing.request.fault == 0 && parsing.parser.keep_alive();
  surroundings_.handler->handle(std::move(parsing.request), std::move(answer));
  while (!response_ && !closed_) {
    co_await wait_for_wake();
  }
  if (closed_) {
    co_return false;
  }
  Response response = std::move(*response_);
  if (is_head) {
    response.feed.reset();
  }
  std::string text = head_of(response, keep_alive);
  if (!is_head && !response.feed) {
    text += response.body;
  }
  if (!co_await write(std::move(text))) {
    co_return false;
  }
  if (response.feed) {
    feed_ = std::move(response.feed);
    const auto held = feed_;
    co_await stream_feed(*held);
    co_return false;
  }
  if (!keep_alive) {
    co_await part_in_peace();
    co_return false;
  }
  was_served_ = true;
  close_after(surroundings_.limits->idle);
  co_return true;
}

asio::awaitable<void> Connection::read_header(Parsing& parsing) {
  auto& parser = parsing.parser;
  parser.header_limit(static_cast<std::uint32_t>(surroundings_.limits->header_bytes));
  parser.body_limit(UINT64_MAX);  // decided when the header is there
  idle_ = received_.empty() && was_served_;
  Request& request = parsing.request;
  request.peer_address = peer_address_;
  request.over_tls = surroundings_.over_tls;
  while (!parser.is_header_done()) {
    if (received_.empty()) {
      if (!co_await fill()) {
        parsing.over = true;
        co_return;
      }
      if (idle_) {
        idle_ = false;
        close_after(surroundings_.limits->header);
      }
    }
    Error error;
    received_.erase(0, parser.put(asio::buffer(received_), error));
    if (error == http::error::need_more) {
      if (!co_await fill()) {
        parsing.over = true;
        co_return;
      }
    } else if (error) {
      request.fault = error == http::error::header_limit ? 431 : 400;
      request.at = surroundings_.utc_now();
      co_return;
    }
  }
  const auto& head = parser.get();
  request.method = std::string(head.method_string());
  request.target = std::string(head.target());
  for (const auto& field : head) {
    request.headers.push_back(
        {lower_case(std::string_view(field.name_string().data(), field.name_string().size())),
         std::string(field.value())});
  }
  request.at = surroundings_.utc_now();
  // A coding that we don't undo would leave the end of the body in doubt. RFC 9112, 3.2: one Host.
  const std::string* coding = header_of(request, "transfer-encoding");
  const bool needs_host = head.version() >= 11;
  if ((coding != nullptr && lower_case(*coding) != "chunked") ||
      head.count(http::field::host) > 1 || (needs_host && head.count(http::field::host) == 0)) {
    request.fault = 400;
  }
}

asio::awaitable<void> Connection::read_body(Parsing& parsing) {
  Request& request = parsing.request;
  auto& parser = parsing.parser;
  if (request.fault != 0 || parser.is_done()) {
    co_return;
  }
  const std::size_t limit = surroundings_.handler->body_limit(request);
  const auto announced = parser.content_length();
  if (announced && *announced > limit) {
    request.fault = 413;
    co_return;
  }
  if (limit > RequestHandler::kSmallBody &&
      announced.value_or(limit) > RequestHandler::kSmallBody) {
    if (parsing.long_bodies >= surroundings_.limits->long_bodies) {
      request.fault = 503;
      co_return;
    }
    parsing.is_long = true;
    ++parsing.long_bodies;
  }
  parser.body_limit(limit);
  close_after(time_for_body(limit, surroundings_.limits->body));
  const std::string* expected = header_of(request, "expect");
  if (expected != nullptr && lower_case(*expected) == "100-continue" && received_.empty()) {
    const std::string go_on = "HTTP/1.1 100 Continue\r\n\r\n";
    Error ignored;
    co_await stream_->write(asio::buffer(go_on), ignored);
  }
  parser.eager(true);
  Error error;
  while (!parser.is_done()) {
    if (received_.empty() || error == http::error::need_more) {
      if (!co_await fill()) {
        parsing.over = true;
        co_return;
      }
    }
    received_.erase(0, parser.put(asio::buffer(received_), error));
    if (error && error != http::error::need_more) {
      request.fault = error == http::error::body_limit ? 413 : 400;
      co_return;
    }
  }
  request.body = std::move(parser.get().body());
}

asio::awaitable<bool> Connection::fill() {
  const std::size_t before = received_.size();
  received_.resize(before + kReadAtOnce);
  Error error;
  const std::size_t count =
      co_await stream_->read_some(asio::buffer(received_.data() + before, kReadAtOnce), error);
  received_.resize(before + (error ? 0 : count));
  co_return !error && !closed_;
}

asio::awaitable<bool> Connection::write(std::string bytes) {
  for (std::size_t done = 0; done < bytes.size(); done += kWriteAtOnce) {
    close_after(surroundings_.limits->write);
    const std::size_t count = std::min(kWriteAtOnce, bytes.size() - done);
    Error error;
    co_await stream_->write(asio::buffer(bytes.data() + done, count), error);
    if (error || closed_) {
      co_return false;
    }
  }
  deadline_.cancel();
  co_return true;
}

asio::awaitable<void> Connection::stream_feed(EventFeed& feed) {
  const auto self = shared_from_this();
  // A reader says nothing more, and what it says is dropped; that it went away shows only in
  // reading.
  asio::co_spawn(
      deadline_.get_executor(),
      [](std::shared_ptr<Connection> connection) -> asio::awaitable<void> {
        co_await connection->discard_what_comes();
        connection->close();
      }(self),
      asio::detached);
  while (!closed_) {
    event_.reset();
    feed.next([self](std::string text) {
      self->event_ = std::move(text);
      self->wake_.cancel();
    });
    while (!event_ && !closed_) {
      co_await wait_for_wake();
    }
    if (closed_ || event_->empty() || !co_await write(std::move(*event_))) {
      break;
    }
  }
  if (feed_) {
    feed_->close();
    feed_.reset();
  }
}

asio::awaitable<void> Connection::discard_what_comes() {
  received_.resize(kReadAtOnce);
  Error error;
  std::size_t discarded = 0;
  while (!error && !closed_ && discarded < kPartingBytes) {
    discarded += co_await stream_->read_some(asio::buffer(received_), error);
  }
}

// Closing with bytes unread would reset the connection, and the peer might lose the answer.
asio::awaitable<void> Connection::part_in_peace() {
  close_after(kParting);
  co_await stream_->finish();
  co_await discard_what_comes();
}

asio::awaitable<void> Connection::wait_for_wake() {
  Error cancelled;
  wake_.expires_at(asio::steady_timer::time_point::max());
  co_await wake_.async_wait(asio::redirect_error(asio::use_awaitable, cancelled));
}

}  // namespace logger::web
