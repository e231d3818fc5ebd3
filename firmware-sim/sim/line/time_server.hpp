// The server of docs/simulated-time.md: knows the clients, says what time it is and when it may
// move. Moves nothing itself. One thread; no call blocks. A client that breaks the protocol is
// dropped with one line of complaint.
#pragma once

#include <poll.h>

#include <chrono>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "firmware-sim/sim/line/pty_line.hpp"

namespace firmware::sim::line {

class TimeServer {
 public:
  // `find_line` gives the line whose link path is the given one, or nullptr.
  using FindLine = std::function<PtyLine*(std::string_view port)>;
  using Complaint = std::function<void(const std::string&)>;

  TimeServer(std::string socket_path, analysis::base::UtcMicros now, FindLine find_line,
             Complaint complaint);
  TimeServer(const TimeServer&) = delete;
  TimeServer& operator=(const TimeServer&) = delete;
  ~TimeServer();  // removes the socket

  // The error is one line. A stale socket at that path is replaced, anything else refused.
  analysis::base::Result<void, std::string> listen();
  void append_descriptors(std::vector<pollfd>& into) const;
  // Accepts, reads and answers whatever is there. Returns whether there was anything.
  bool serve();

  // Every client is idle at the present step, no byte is on its way, and the awaited clients came.
  [[nodiscard]] bool all_idle() const;
  // Earliest time a client wants to be woken at; nullopt = no timer anywhere.
  [[nodiscard]] std::optional<analysis::base::UtcMicros> earliest_wake() const;
  // What the clock of the clients' machine shows beyond the true time; told with every later step.
  void set_host_offset(analysis::base::Micros offset) { host_offset_ = offset; }
  // A new step at `now`; told to every client.
  void tell(analysis::base::UtcMicros now);
  void tell_end();

  [[nodiscard]] std::uint64_t step() const { return step_; }
  [[nodiscard]] std::uint64_t hellos() const { return hellos_; }  // so far
  [[nodiscard]] std::size_t clients() const;                      // connected and known by name
  // Time is held until this many clients have said hello since the start.
  void await_hellos(std::uint64_t total) { awaited_hellos_ = total; }
  // Every awaited client came and every client left.
  [[nodiscard]] bool all_gone() const { return hellos_ >= awaited_hellos_ && clients() == 0; }
  // For people: who holds time; empty = no one.
  [[nodiscard]] std::string holder() const;

 private:
  struct PortCounts {
    std::string port;
    std::uint64_t sent = 0;
    std::uint64_t received = 0;
  };
  struct Client {
    int descriptor = -1;
    std::string name;  // empty until hello
    std::string unread;
    std::string unsent;
    std::map<std::string, std::uint64_t> open_ports;  // port, plug_count when opened
    std::optional<std::uint64_t> idle_step;
    std::optional<analysis::base::UtcMicros> wake;
    std::vector<PortCounts> counts;
    bool gone = false;
  };

  bool accept_clients();
  bool read_from(Client& client);
  void handle_unread(Client& client);
  void handle_line(Client& client, std::string_view text);
  void handle_hello(Client& client, std::string_view name);
  void handle_open(Client& client, std::string_view port);
  void handle_idle(Client& client, std::string_view rest);
  [[nodiscard]] std::string now_line() const;
  void send(Client& client, const std::string& text);
  void drop(Client& client, const std::string& reason);  // reason empty = it left by itself
  [[nodiscard]] bool is_idle(const Client& client) const;
  [[nodiscard]] bool is_quiet(const Client& client, const PortCounts& counts) const;

  std::string socket_path_;
  FindLine find_line_;
  Complaint complaint_;
  int listener_ = -1;
  std::vector<std::unique_ptr<Client>> clients_;
  std::uint64_t step_ = 1;
  analysis::base::UtcMicros now_;
  analysis::base::Micros host_offset_{0};
  std::uint64_t hellos_ = 0;
  std::uint64_t awaited_hellos_ = 0;
  bool ended_ = false;
};

}  // namespace firmware::sim::line
