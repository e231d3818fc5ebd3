// Tells the service manager that the daemon is alive, three times within its patience, each time
// by the event loop and only after the writer thread has answered. When one of the two hangs, the
// service manager hears nothing and starts the daemon anew: nothing is lost by that, as what was
// not committed is still in the boxes.
#pragma once

#include <functional>
#include <memory>

#include "logger/app/daemon/service/service_manager.hpp"
#include "logger/ingest/clock.hpp"

namespace logger::app {

// One thread: the event loop's.
class Heartbeat {
 public:
  // Asks the writer thread to call back through the event loop; false when its queue is full.
  using AskWriter = std::function<bool(std::function<void()> answered)>;

  // All three outlive this.
  Heartbeat(ServiceManager& service, ingest::Clock& clock, AskWriter ask_writer);
  ~Heartbeat();
  Heartbeat(const Heartbeat&) = delete;
  Heartbeat& operator=(const Heartbeat&) = delete;

  // Does nothing where nobody watches.
  void start();
  void stop();

 private:
  void beat();

  ServiceManager& service_;
  ingest::Clock& clock_;
  AskWriter ask_writer_;
  std::optional<ingest::Clock::TimerId> timer_;
  bool asked_ = false;
  // An answer may come after this is gone.
  std::shared_ptr<bool> gone_ = std::make_shared<bool>(false);
};

}  // namespace logger::app
