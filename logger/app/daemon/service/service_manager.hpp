// What the daemon tells whatever started it as a service: that it is ready, that it is alive, that
// it ends. Protocol: sd_notify(3), one datagram of KEY=VALUE lines to $NOTIFY_SOCKET; no library of
// that service manager is needed. One thread: the event loop's.
#pragma once

#include <optional>
#include <string>

#include "analysis/base/time.hpp"

namespace logger::app {

class ServiceManager {
 public:
  ServiceManager() = default;
  ServiceManager(const ServiceManager&) = delete;
  ServiceManager& operator=(const ServiceManager&) = delete;
  virtual ~ServiceManager() = default;

  virtual void ready() = 0;
  virtual void alive() = 0;
  virtual void stopping() = 0;
  // How long it may hear nothing before it takes the daemon for hung; nullopt = it does not watch.
  [[nodiscard]] virtual std::optional<analysis::base::Micros> patience() const = 0;
};

// What the environment said, as strings; empty = not set.
struct ServiceEnvironment {
  std::string notify_socket;   // NOTIFY_SOCKET: a path, or @ and an abstract name
  std::string watchdog_usec;   // WATCHDOG_USEC
  std::string watchdog_pid;    // WATCHDOG_PID: set for another process when not ours
  std::string journal_stream;  // JOURNAL_STREAM: device:inode of the stream
};
[[nodiscard]] ServiceEnvironment service_environment();

// Says nothing where no socket is named. A message that can't be sent is lost: the service manager
// sees the silence.
class NotifySocket final : public ServiceManager {
 public:
  explicit NotifySocket(const ServiceEnvironment& environment);
  ~NotifySocket() override;

  void ready() override;
  void alive() override;
  void stopping() override;
  [[nodiscard]] std::optional<analysis::base::Micros> patience() const override {
    return patience_;
  }

 private:
  void send(const char* message) const;

  int socket_ = -1;
  std::string address_;
  std::optional<analysis::base::Micros> patience_;
};

}  // namespace logger::app
