#include "logger/web/http/web_server.hpp"

#include <netinet/tcp.h>
#include <sys/socket.h>

#include <atomic>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/address.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/thread_pool.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <list>
#include <map>
#include <set>
#include <thread>

#include "logger/web/http/byte_stream.hpp"
#include "logger/web/http/connection.hpp"

namespace logger::web {

namespace asio = boost::asio;
using asio::ip::tcp;
using std::chrono::milliseconds;
using std::chrono::steady_clock;
using store::ErrorCode;
using store::failure;
using store::Result;
using SocketError = boost::system::error_code;

namespace {

constexpr milliseconds kAcceptPause{100};
constexpr int kSendBuffer = 256 * 1024;      // bytes; the system's own growth would let 400 slow
                                             // readers hold a lot of memory
constexpr unsigned kUnsentLimitMs = 60'000;  // then a vanished peer's connection is given up

std::string text_of(const asio::ip::address& address) {
  if (address.is_v6() && address.to_v6().is_v4_mapped()) {
    return asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6()).to_string();
  }
  return address.to_string();
}

void tune(tcp::socket& socket) {
  SocketError ignored;
  socket.set_option(tcp::no_delay(true), ignored);
  socket.set_option(asio::socket_base::send_buffer_size(kSendBuffer), ignored);
  ::setsockopt(socket.native_handle(), IPPROTO_TCP, TCP_USER_TIMEOUT, &kUnsentLimitMs,
               sizeof kUnsentLimitMs);
}

Result<tcp::endpoint> endpoint_from(const ServerSettings& settings) {
  SocketError error;
  const auto address = asio::ip::make_address(settings.address, error);
  if (error) {
    return failure(ErrorCode::invalid_input, "page: address \"" + settings.address +
                                                 "\" is neither an IPv4 nor an IPv6 address, such "
                                                 "as 127.0.0.1");
  }
  if (!address.is_loopback() && !settings.tls) {
    return failure(ErrorCode::invalid_input,
                   "page: address " + settings.address +
                       " is within reach of other machines, which needs TLS: give a certificate, "
                       "or use 127.0.0.1");
  }
  return tcp::endpoint{address, settings.port};
}

Result<void> listen_at(tcp::acceptor& acceptor, const tcp::endpoint& endpoint) {
  const auto unavailable = [&](const std::string& what, const SocketError& error) {
    return failure(ErrorCode::unavailable, "page: can't " + what + ": " + error.message(),
                   error.value());
  };
  const std::string where =
      "listen at " + text_of(endpoint.address()) + " port " + std::to_string(endpoint.port());
  SocketError error;
  acceptor.open(endpoint.protocol(), error);
  if (error) {
    return unavailable("open a socket for " + text_of(endpoint.address()), error);
  }
  acceptor.set_option(tcp::acceptor::reuse_address(true), error);
  acceptor.bind(endpoint, error);
  if (!error) {
    acceptor.listen(asio::socket_base::max_listen_connections, error);
  }
  if (!error) {
    acceptor.non_blocking(true, error);
  }
  if (error) {
    SocketError ignored;
    acceptor.close(ignored);
    return unavailable(where, error);
  }
  return {};
}

}  // namespace

struct WebServer::State {
  State(ServerSettings given, std::function<UtcMicros()> now)
      : settings(std::move(given)), utc_now(std::move(now)), acceptor(context), worker(1) {}

  asio::awaitable<void> accept_connections();
  bool has_room_for(const std::string& peer) const;
  void admit(tcp::socket socket);
  void forget(const std::shared_ptr<Connection>& connection);
  void close_idle();
  void close_everything();
  void run();

  ServerSettings settings;
  std::function<UtcMicros()> utc_now;
  asio::io_context context{1};
  tcp::acceptor acceptor;
  std::optional<asio::executor_work_guard<asio::io_context::executor_type>> at_work;
  std::unique_ptr<StreamMaker> streams;
  ConnectionSurroundings surroundings;
  std::set<std::shared_ptr<Connection>> connections;
  std::map<std::string, std::size_t> per_address;
  std::list<asio::steady_timer> timers;
  bool stopping = false;
  std::atomic<std::uint16_t> port{0};
  std::atomic<std::size_t> open{0};
  std::size_t pending_work = 0;
  asio::thread_pool worker;
  std::thread thread;
};

asio::awaitable<void> WebServer::State::accept_connections() {
  asio::steady_timer pause{context};
  while (!stopping) {
    // Without a descriptor accept fails even when nobody waits, so it is called when somebody does.
    SocketError error;
    co_await acceptor.async_wait(tcp::acceptor::wait_read,
                                 asio::redirect_error(asio::use_awaitable, error));
    tcp::socket socket{context};
    if (!error) {
      acceptor.accept(socket, error);
    }
    if (!error) {
      admit(std::move(socket));
      continue;
    }
    if (stopping || error == asio::error::would_block) {
      continue;
    }
    // Out of descriptors or memory: what nobody uses makes room, and the rest waits its turn.
    close_idle();
    pause.expires_after(kAcceptPause);
    co_await pause.async_wait(asio::redirect_error(asio::use_awaitable, error));
  }
}

bool WebServer::State::has_room_for(const std::string& peer) const {
  const auto others = per_address.find(peer);
  return connections.size() < settings.limits.connections &&
         (others == per_address.end() || others->second < settings.limits.connections_per_address);
}

void WebServer::State::admit(tcp::socket socket) {
  SocketError error;
  const auto remote = socket.remote_endpoint(error);
  const std::string peer = error ? std::string{} : text_of(remote.address());
  if (error || !has_room_for(peer)) {
    return;  // closes it
  }
  tune(socket);
  auto connection =
      std::make_shared<Connection>(streams->stream_over(std::move(socket)), peer, surroundings);
  connections.insert(connection);
  ++per_address[peer];
  open = connections.size();
  asio::co_spawn(context, connection->serve(), [this, connection](const std::exception_ptr&) {
    connection->close();  // whatever was thrown ends this connection alone
    forget(connection);
  });
}

void WebServer::State::forget(const std::shared_ptr<Connection>& connection) {
  connections.erase(connection);
  open = connections.size();
  const auto counted = per_address.find(connection->peer_address());
  if (counted != per_address.end() && --counted->second == 0) {
    per_address.erase(counted);
  }
}

void WebServer::State::close_idle() {
  for (const auto& connection : connections) {
    if (connection->is_idle()) {
      connection->close();
    }
  }
}

void WebServer::State::close_everything() {
  stopping = true;
  SocketError ignored;
  acceptor.close(ignored);
  for (const auto& connection : connections) {
    connection->close();
  }
  for (auto& timer : timers) {
    timer.cancel();
  }
  at_work.reset();
}

void WebServer::State::run() {
  // What a callback throws is lost with it; the others go on.
  for (bool again = true; again;) {
    try {
      context.run();
      again = false;
    } catch (const std::exception&) {
      again = true;
    }
  }
}

WebServer::WebServer(ServerSettings settings, std::function<UtcMicros()> utc_now)
    : state_(std::make_unique<State>(std::move(settings), std::move(utc_now))) {}

WebServer::~WebServer() { stop(); }

Result<void> WebServer::start(RequestHandler& handler) {
  State& state = *state_;
  auto endpoint = endpoint_from(state.settings);
  if (!endpoint) {
    return store::Failure{endpoint.error()};
  }
  if (state.settings.tls) {
    auto streams = tls_streams(*state.settings.tls);
    if (!streams) {
      return store::Failure{streams.error()};
    }
    state.streams = std::move(streams).value();
  } else {
    state.streams = plain_streams();
  }
  const auto listening = listen_at(state.acceptor, endpoint.value());
  if (!listening) {
    return listening;
  }
  SocketError ignored;
  state.port = state.acceptor.local_endpoint(ignored).port();
  state.surroundings = {&state.settings.limits, &handler, state.utc_now,
                        state.settings.tls.has_value()};
  state.at_work.emplace(asio::make_work_guard(state.context));
  asio::co_spawn(state.context, state.accept_connections(), asio::detached);
  state.thread = std::thread([&state] { state.run(); });
  return {};
}

void WebServer::stop() {
  State& state = *state_;
  if (!state.thread.joinable()) {
    return;
  }
  asio::post(state.context, [&state] { state.close_everything(); });
  state.worker.stop();
  state.worker.join();
  state.thread.join();
}

std::uint16_t WebServer::port() const { return state_->port; }
std::size_t WebServer::open_connections() const { return state_->open; }

bool WebServer::on_worker(std::function<void()> work, std::function<void()> then) {
  State& state = *state_;
  if (state.pending_work >= state.settings.limits.worker_queue || state.stopping) {
    return false;
  }
  ++state.pending_work;
  asio::post(state.worker, [&state, work = std::move(work), then = std::move(then)]() mutable {
    try {
      work();
    } catch (const std::exception&) {
      // `then` finds that nothing was made.
    }
    asio::post(state.context, [&state, then = std::move(then)] {
      --state.pending_work;
      if (!state.stopping) {
        then();
      }
    });
  });
  return true;
}

void WebServer::call_after(milliseconds delay, std::function<void()> work) {
  State& state = *state_;
  const auto timer = state.timers.emplace(state.timers.end(), state.context);
  timer->expires_after(delay);
  timer->async_wait([&state, timer, work = std::move(work)](const SocketError& error) {
    state.timers.erase(timer);
    if (!error && !state.stopping) {
      work();
    }
  });
}

steady_clock::time_point WebServer::monotonic_now() const { return steady_clock::now(); }
UtcMicros WebServer::utc_now() const { return state_->utc_now(); }

}  // namespace logger::web
