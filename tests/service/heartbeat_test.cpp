// The heartbeat stops when the event loop or the writer does, and the notices are what sd_notify(3)
// says.
#include "logger/app/daemon/service/heartbeat.hpp"

#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <map>
#include <vector>

#include "tests/app/scratch_folder.hpp"

using namespace logger::app;
using logger::ingest::Micros;

namespace {

// Time that passes when told to.
class HandClock final : public logger::ingest::Clock {
 public:
  [[nodiscard]] logger::ingest::UtcMicros utc_now() const override { return {now_.count()}; }
  [[nodiscard]] Micros monotonic_now() const override { return now_; }
  TimerId call_after(Micros delay, std::function<void()> handler) override {
    timers_[++last_] = {now_ + delay, std::move(handler)};
    return last_;
  }
  void cancel(TimerId id) override { timers_.erase(id); }
  void pass(Micros time) {
    const Micros end = now_ + time;
    while (true) {
      auto next = timers_.end();
      for (auto timer = timers_.begin(); timer != timers_.end(); ++timer) {
        if (timer->second.first <= end &&
            (next == timers_.end() || timer->second.first < next->second.first)) {
          next = timer;
        }
      }
      if (next == timers_.end()) {
        now_ = end;
        return;
      }
      now_ = next->second.first;
      const auto handler = std::move(next->second.second);
      timers_.erase(next);
      handler();
    }
  }

 private:
  Micros now_{0};
  TimerId last_ = 0;
  std::map<TimerId, std::pair<Micros, std::function<void()>>> timers_;
};

class Listener final : public ServiceManager {
 public:
  explicit Listener(std::optional<Micros> patience) : patience_(patience) {}
  void ready() override {}
  void alive() override { ++beats; }
  void stopping() override {}
  [[nodiscard]] std::optional<Micros> patience() const override { return patience_; }
  int beats = 0;

 private:
  std::optional<Micros> patience_;
};

// Answers when told to.
struct Writer {
  std::vector<std::function<void()>> asked;
  bool full = false;
  Heartbeat::AskWriter ask() {
    return [this](std::function<void()> answered) {
      if (!full) {
        asked.push_back(std::move(answered));
      }
      return !full;
    };
  }
  void answer() {
    for (const auto& answered : std::exchange(asked, {})) {
      answered();
    }
  }
};

class Receiver {
 public:
  Receiver() : socket_(::socket(AF_UNIX, SOCK_DGRAM | SOCK_NONBLOCK, 0)) {
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    path().copy(address.sun_path, sizeof(address.sun_path) - 1);
    REQUIRE(::bind(socket_, reinterpret_cast<sockaddr*>(&address), sizeof(address)) == 0);
  }
  ~Receiver() { ::close(socket_); }
  [[nodiscard]] std::string path() const { return (scratch_.path() / "notify").string(); }
  [[nodiscard]] std::string next() const {
    char bytes[256];
    const ssize_t got = ::recv(socket_, bytes, sizeof(bytes), 0);
    return got < 0 ? "" : std::string(bytes, static_cast<std::size_t>(got));
  }

 private:
  ScratchFolder scratch_;
  int socket_;
};

}  // namespace

TEST_CASE("BeatsThreeTimesWithinThePatienceWhileTheWriterAnswers") {
  HandClock clock;
  Listener listener(Micros{30'000'000});
  Writer writer;
  Heartbeat heartbeat(listener, clock, writer.ask());
  heartbeat.start();
  for (int i = 0; i < 6; ++i) {
    writer.answer();
    CHECK(listener.beats == i + 1);
    clock.pass(Micros{10'000'000});
  }
}

TEST_CASE("AWriterThatHangsIsNotSpokenFor") {
  HandClock clock;
  Listener listener(Micros{30'000'000});
  Writer writer;
  Heartbeat heartbeat(listener, clock, writer.ask());
  heartbeat.start();
  writer.answer();
  clock.pass(Micros{300'000'000});
  CHECK(listener.beats == 1);
  CHECK(writer.asked.size() == 1);  // its queue does not fill with questions
  writer.answer();
  CHECK(listener.beats == 2);
  clock.pass(Micros{10'000'000});
  writer.full = true;
  writer.answer();
  clock.pass(Micros{300'000'000});
  CHECK(listener.beats == 3);
  writer.full = false;
  clock.pass(Micros{10'000'000});
  writer.answer();
  CHECK(listener.beats == 4);
}

TEST_CASE("NobodyWatchesNobodyIsTold") {
  HandClock clock;
  Listener listener(std::nullopt);
  Writer writer;
  Heartbeat heartbeat(listener, clock, writer.ask());
  heartbeat.start();
  clock.pass(Micros{300'000'000});
  CHECK(writer.asked.empty());
}

TEST_CASE("AnAnswerAfterTheEndIsHarmless") {
  HandClock clock;
  Listener listener(Micros{30'000'000});
  Writer writer;
  {
    Heartbeat heartbeat(listener, clock, writer.ask());
    heartbeat.start();
  }
  writer.answer();
  clock.pass(Micros{300'000'000});
  CHECK(listener.beats == 0);
  CHECK(writer.asked.empty());
}

TEST_CASE("NoticesGoToTheSocketOfTheEnvironment") {
  const Receiver receiver;
  NotifySocket socket({receiver.path(), "30000000", std::to_string(::getpid()), ""});
  CHECK(socket.patience() == Micros{30'000'000});
  socket.ready();
  socket.alive();
  socket.stopping();
  CHECK(receiver.next() == "READY=1");
  CHECK(receiver.next() == "WATCHDOG=1");
  CHECK(receiver.next() == "STOPPING=1");
  CHECK(receiver.next().empty());
}

TEST_CASE("AWatchdogThatIsNotOursIsNotFed") {
  const Receiver receiver;
  CHECK_FALSE(NotifySocket({receiver.path(), "30000000", "1", ""}).patience());
  CHECK_FALSE(NotifySocket({receiver.path(), "soon", "", ""}).patience());
  CHECK_FALSE(NotifySocket({receiver.path(), "", "", ""}).patience());
  CHECK_FALSE(NotifySocket({"", "30000000", "", ""}).patience());
  CHECK(NotifySocket({receiver.path(), "30000000", "", ""}).patience());
}
