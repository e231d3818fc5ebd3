#include "logger/app/daemon/service/service_manager.hpp"

#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <charconv>
#include <cstddef>
#include <cstdlib>
#include <cstring>

namespace logger::app {
namespace {

std::string variable(const char* name) {
  const char* value = std::getenv(name);
  return value != nullptr ? value : "";
}

std::optional<std::int64_t> number_from(const std::string& text) {
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  const bool whole = error == std::errc() && end == text.data() + text.size();
  return whole && value > 0 ? std::optional(value) : std::nullopt;
}

}  // namespace

ServiceEnvironment service_environment() {
  return {variable("NOTIFY_SOCKET"), variable("WATCHDOG_USEC"), variable("WATCHDOG_PID"),
          variable("JOURNAL_STREAM")};
}

NotifySocket::NotifySocket(const ServiceEnvironment& environment)
    : address_(environment.notify_socket) {
  const bool fits = !address_.empty() && address_.size() < sizeof(sockaddr_un::sun_path);
  if (!fits || (address_.front() != '/' && address_.front() != '@')) {
    return;
  }
  socket_ = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  const bool ours = environment.watchdog_pid.empty() ||
                    number_from(environment.watchdog_pid) == static_cast<std::int64_t>(::getpid());
  if (const auto limit = number_from(environment.watchdog_usec); limit && ours) {
    patience_ = analysis::base::Micros{*limit};
  }
}

NotifySocket::~NotifySocket() {
  if (socket_ >= 0) {
    ::close(socket_);
  }
}

void NotifySocket::ready() { send("READY=1"); }
void NotifySocket::alive() { send("WATCHDOG=1"); }
void NotifySocket::stopping() { send("STOPPING=1"); }

void NotifySocket::send(const char* message) const {
  if (socket_ < 0) {
    return;
  }
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  std::memcpy(address.sun_path, address_.data(), address_.size());
  if (address_.front() == '@') {
    address.sun_path[0] = '\0';
  }
  const auto length = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + address_.size());
  // Not waited for: a service manager that does not read must not hang the daemon.
  (void)::sendto(socket_, message, std::strlen(message), MSG_NOSIGNAL,
                 reinterpret_cast<const sockaddr*>(&address), length);
}

}  // namespace logger::app
