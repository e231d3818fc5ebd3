// The HTTP/1.1 server of the page: sockets, TLS, limits of size, time and number. It knows nothing
// of what is asked. Two threads of its own: one for everything quick (the server's thread), one
// worker. start and stop may be called from any other thread, one at a time.
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "logger/store/error.hpp"
#include "logger/web/http/http_message.hpp"
#include "logger/web/http/server_loop.hpp"

namespace logger::web {

// Where nothing else is said: our assumptions, generous to a phone on a poor link.
struct ServerLimits {
  std::size_t header_bytes = 8192;
  std::size_t connections = 400;
  std::size_t connections_per_address = 100;
  std::size_t worker_queue = 64;
  std::size_t long_bodies =
      3;  // of more than RequestHandler::kSmallBody, at once: they are in memory
  std::chrono::milliseconds header{10'000};  // from the first byte, the TLS handshake included
  // For a body of 64 KiB; a longer one, which only body_limit lets in, has a second more for every
  // further 16 KiB.
  std::chrono::milliseconds body{60'000};
  std::chrono::milliseconds idle{30'000};   // between two requests
  std::chrono::milliseconds write{30'000};  // for each 64 KiB: a reader slower than that is dropped
};

struct TlsIdentity {
  std::string certificate_chain_pem;
  std::string key_pem;
};

struct ServerSettings {
  std::string address = "127.0.0.1";
  std::uint16_t port = 0;  // 0 = any that is free
  std::optional<TlsIdentity> tls{};
  ServerLimits limits{};
};

class WebServer final : public ServerLoop {
 public:
  // utc_now: the logger's clock, called on both threads.
  WebServer(ServerSettings settings, std::function<UtcMicros()> utc_now);
  ~WebServer() override;  // stops

  // Listens and starts both threads. Errors, one line: invalid_input (no address of the Internet
  // protocol; another machine's reach without TLS; key and certificate that don't fit or can't be
  // read), unavailable (the port is taken, the address is not this machine's), unsupported (built
  // without TLS).
  // REQUIRES: not started before; `handler` lives until stop() returned.
  [[nodiscard]] store::Result<void> start(RequestHandler& handler);
  // Closes every connection, waits for the worker's present work and drops the rest of its queue.
  // Afterwards neither the handler nor any feed is called. No effect when it is not running.
  void stop();

  [[nodiscard]] std::uint16_t port() const;            // 0 before start
  [[nodiscard]] std::size_t open_connections() const;  // for any thread

  [[nodiscard]] bool on_worker(std::function<void()> work, std::function<void()> then) override;
  void call_after(std::chrono::milliseconds delay, std::function<void()> work) override;
  [[nodiscard]] std::chrono::steady_clock::time_point monotonic_now() const override;
  [[nodiscard]] UtcMicros utc_now() const override;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

// "the page over TLS too", or "the page without TLS", as this program is built.
[[nodiscard]] std::string_view page_support_text();

}  // namespace logger::web
