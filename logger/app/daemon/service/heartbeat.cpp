#include "logger/app/daemon/service/heartbeat.hpp"

#include <utility>

namespace logger::app {

Heartbeat::Heartbeat(ServiceManager& service, ingest::Clock& clock, AskWriter ask_writer)
    : service_(service), clock_(clock), ask_writer_(std::move(ask_writer)) {}

Heartbeat::~Heartbeat() {
  *gone_ = true;
  stop();
}

void Heartbeat::start() {
  if (service_.patience()) {
    beat();
  }
}

void Heartbeat::stop() {
  if (timer_) {
    clock_.cancel(*timer_);
    timer_.reset();
  }
}

void Heartbeat::beat() {
  constexpr int kBeatsWithinPatience = 3;
  timer_ = clock_.call_after(*service_.patience() / kBeatsWithinPatience, [this] { beat(); });
  if (asked_) {
    return;  // the writer has not answered yet
  }
  asked_ = ask_writer_([this, gone = gone_] {
    if (!*gone) {
      asked_ = false;
      service_.alive();
    }
  });
}

}  // namespace logger::app
