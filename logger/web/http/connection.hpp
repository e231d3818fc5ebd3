// One connection of the page's server: reads requests, has them answered, writes answers, and
// closes what is too slow, too long or no HTTP. Server's thread only.
#pragma once

#include <boost/asio/awaitable.hpp>
#include <boost/asio/steady_timer.hpp>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "logger/web/http/byte_stream.hpp"
#include "logger/web/http/http_message.hpp"
#include "logger/web/http/web_server.hpp"

namespace logger::web {

// What all connections of a server share; outlives them.
struct ConnectionSurroundings {
  const ServerLimits* limits = nullptr;
  RequestHandler* handler = nullptr;
  std::function<UtcMicros()> utc_now;
  bool over_tls = false;
  std::size_t long_bodies = 0;  // being read or answered
};

class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(std::shared_ptr<ByteStream> stream, std::string peer_address,
             ConnectionSurroundings& surroundings);
  ~Connection();
  Connection(const Connection&) = delete;
  Connection& operator=(const Connection&) = delete;

  // Until one side closed it. The connection lives at least as long.
  boost::asio::awaitable<void> serve();
  // At once; serve() then ends.
  void close();
  // Was served, and waits for a next request of which nothing came yet.
  [[nodiscard]] bool is_idle() const { return idle_; }
  [[nodiscard]] const std::string& peer_address() const { return peer_address_; }

 private:
  using Error = boost::system::error_code;
  struct Parsing;

  boost::asio::awaitable<bool> answer_one();
  boost::asio::awaitable<void> read_header(Parsing& parsing);
  boost::asio::awaitable<void> read_body(Parsing& parsing);
  boost::asio::awaitable<bool> fill();  // false: the connection is over
  boost::asio::awaitable<bool> write(std::string bytes);
  boost::asio::awaitable<void> stream_feed(EventFeed& feed);
  boost::asio::awaitable<void> discard_what_comes();
  boost::asio::awaitable<void> part_in_peace();
  boost::asio::awaitable<void> wait_for_wake();
  void close_after(std::chrono::milliseconds delay);

  std::shared_ptr<ByteStream> stream_;
  std::string peer_address_;
  ConnectionSurroundings& surroundings_;
  boost::asio::steady_timer deadline_;
  boost::asio::steady_timer wake_;  // cancelled when an answer or an event is there
  std::string received_;            // and not parsed yet
  std::optional<Response> response_;
  std::optional<std::string> event_;
  std::shared_ptr<EventFeed> feed_;
  bool idle_ = false;
  bool was_served_ = false;
  bool closed_ = false;
};

}  // namespace logger::web
