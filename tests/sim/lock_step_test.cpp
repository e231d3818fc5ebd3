// The protocol of docs/simulated-time.md, from the client's side.
#include <unistd.h>

#include <catch2/catch.hpp>

#include "firmware-sim/sim/script/scenario_text.hpp"
#include "firmware-sim/sim/simulation_run.hpp"
#include "tests/sim/line_end.hpp"

using namespace firmware::sim;
using namespace sim_test;
using analysis::base::Micros;
using analysis::base::micros_from_hours;
using analysis::base::UtcMicros;

namespace {

constexpr std::uint16_t kQuantity = 28;  // the identity block

class Site {
 public:
  explicit Site(std::uint64_t clients, std::vector<ScenarioAction> actions = {},
                std::vector<line::ExchangeFault> exchange_faults = {}) {
    RunSettings settings;
    settings.scenario = scenario_from_name("quick").value();
    settings.scenario.actions = std::move(actions);
    settings.scenario.exchange_faults = std::move(exchange_faults);
    settings.boxes = {BoxOnLine{{}, port()}};
    settings.time_socket = socket();
    settings.clients = clients;
    auto made = SimulationRun::create(settings);
    REQUIRE(made.has_value());
    run_ = std::move(made).value();
    run_->set_complaint([this](const std::string& text) { complaints.push_back(text); });
  }
  [[nodiscard]] std::string port() const { return folder_.file("tty"); }
  [[nodiscard]] std::string socket() const { return folder_.file("time"); }
  [[nodiscard]] SimulationRun& run() { return *run_; }
  [[nodiscard]] UtcMicros start() const { return run_->utc_start(); }
  // Lets the simulator do all it can without hearing more.
  void settle() {
    for (int i = 0; i < 30; ++i) {
      run_->step(std::chrono::milliseconds{0});
    }
  }

  std::vector<std::string> complaints;

 private:
  TemporaryFolder folder_;
  std::unique_ptr<SimulationRun> run_;
};

class Client {
 public:
  explicit Client(Site& site, const std::string& name = "")
      : site_(site), socket_(connected_to(site.socket())) {
    REQUIRE(socket_.is_open());
    if (!name.empty()) {
      say("hello " + name);
    }
  }
  void say(const std::string& line) {
    const std::string text = line + "\n";
    REQUIRE(
        socket_.write(std::span(reinterpret_cast<const std::uint8_t*>(text.data()), text.size())));
  }
  // The lines that came since the last call, after the simulator did what it could.
  std::vector<std::string> heard() {
    site_.settle();
    std::vector<std::uint8_t> bytes;
    std::size_t before = 0;
    do {  // a hang-up shows only after what was sent before it
      before = bytes.size();
      alive_ = socket_.read(bytes);
    } while (bytes.size() > before);
    std::vector<std::string> lines(1);
    for (const std::uint8_t byte : bytes) {
      if (byte == '\n') {
        lines.emplace_back();
      } else {
        lines.back() += static_cast<char>(byte);
      }
    }
    lines.pop_back();
    return lines;
  }
  // Whether the server still has it. Asks by listening.
  [[nodiscard]] bool alive() {
    heard();
    return alive_;
  }
  void leave() { socket_.close(); }

 private:
  Site& site_;
  Descriptor socket_;
  bool alive_ = true;
};

std::vector<std::string> lines(std::initializer_list<std::string> expected) { return expected; }

std::string now_line(std::uint64_t step, UtcMicros at) {
  return "now " + std::to_string(step) + " " + std::to_string(at.value);
}

std::string idle_line(std::uint64_t step, UtcMicros wake, const std::string& counts = "") {
  return "idle " + std::to_string(step) + " " + std::to_string(wake.value) + counts;
}

ScenarioAction action_at(double hours, ActionKind kind) {
  ScenarioAction action;
  action.after_start = micros_from_hours(hours);
  action.kind = kind;
  return action;
}

}  // namespace

TEST_CASE("TimeMovesToTheWakeOfAnIdleClient") {
  Site site(1);
  Client client(site, "a");
  CHECK(client.heard() == lines({now_line(1, site.start())}));
  const UtcMicros wake = site.start() + Micros{90'000'001};
  client.say(idle_line(1, wake));
  CHECK(client.heard() == lines({now_line(2, wake)}));
  CHECK(site.run().utc_now() == wake);
  CHECK(site.run().box(0).firmware().held() == 2);  // samples at 2 s and 62 s
}

TEST_CASE("IdleOfAnEarlierStepMovesNothing") {
  Site site(1);
  Client client(site, "a");
  const UtcMicros wake = site.start() + Micros{1'000'000};
  client.say(idle_line(1, wake));
  REQUIRE(client.heard().size() == 2);
  client.say(idle_line(1, wake + Micros{1'000'000}));
  CHECK(client.heard().empty());
  CHECK(site.run().utc_now() == wake);
}

TEST_CASE("TheLastIdleOfAStepCounts") {
  Site site(2);
  Client first(site, "a");
  Client second(site, "b");
  first.say(idle_line(1, site.start() + Micros{60'000'000}));
  first.heard();
  first.say(idle_line(1, site.start() + Micros{5'000'000}));
  first.heard();
  second.say("idle 1 -");
  CHECK(second.heard() ==
        lines({now_line(1, site.start()), now_line(2, site.start() + Micros{5'000'000})}));
}

TEST_CASE("TimeStartsWhenAllClientsHaveCome") {
  Site site(2);
  Client first(site, "a");
  first.say("idle 1 -");
  CHECK(first.heard() == lines({now_line(1, site.start())}));
  CHECK(site.run().holder() == "1 more client(s) expected");
  Client second(site, "b");
  const UtcMicros wake = site.start() + Micros{7'000'000};
  second.say(idle_line(1, wake));
  CHECK(second.heard() == lines({now_line(1, site.start()), now_line(2, wake)}));
  CHECK(first.heard() == lines({now_line(2, wake)}));
}

TEST_CASE("TwoClientsAreWokenAtTheEarlierTime") {
  Site site(2);
  Client first(site, "a");
  Client second(site, "b");
  const UtcMicros early = site.start() + Micros{10'000'000};
  first.say(idle_line(1, site.start() + Micros{30'000'000}));
  CHECK(first.heard() == lines({now_line(1, site.start())}));
  CHECK(site.run().utc_now() == site.start());  // the other is not idle
  CHECK(site.run().holder() == "client b is not idle");
  second.say(idle_line(1, early));
  CHECK(second.heard() == lines({now_line(1, site.start()), now_line(2, early)}));
  CHECK(first.heard() == lines({now_line(2, early)}));
}

TEST_CASE("DeadClientReleasesTime") {
  Site site(2);
  Client first(site, "a");
  Client second(site, "b");
  const UtcMicros wake = site.start() + Micros{10'000'000};
  first.say(idle_line(1, wake));
  first.heard();
  REQUIRE(site.run().utc_now() == site.start());
  second.leave();
  CHECK(first.heard() == lines({now_line(2, wake)}));
  CHECK(site.complaints.empty());
}

TEST_CASE("TimeStandsWhileAByteIsOnItsWay") {
  Site site(1);
  Client client(site, "a");
  const Descriptor line = opened_line(site.port());
  client.say("open " + site.port());
  CHECK(client.heard() == lines({now_line(1, site.start()), "opened " + site.port()}));
  const UtcMicros wake = site.start() + Micros{5'000'000};
  const auto request = read_request(1, 0, kQuantity);
  const auto counts = [&](std::size_t sent, std::size_t received) {
    return " " + site.port() + " " + std::to_string(sent) + " " + std::to_string(received);
  };

  // It says that it sent more than has arrived.
  client.say(idle_line(1, wake, counts(request.size(), 0)));
  CHECK(client.heard().empty());
  CHECK(site.run().utc_now() == site.start());
  // The request arrives; now the reply is on its way.
  REQUIRE(line.write(request));
  CHECK(client.heard().empty());
  CHECK(site.run().utc_now() == site.start());
  CHECK(site.run().holder() == "client a is idle, but a byte is on its way or a hang-up unseen");
  // All but the last byte of it read.
  REQUIRE(line.wait());
  CHECK(line.taken().size() == reply_size(kQuantity));
  client.say(idle_line(1, wake, counts(request.size(), reply_size(kQuantity) - 1)));
  CHECK(client.heard().empty());
  client.say(idle_line(1, wake, counts(request.size(), reply_size(kQuantity))));
  CHECK(client.heard() == lines({now_line(2, wake)}));
}

TEST_CASE("OpeningDrainsTheLine") {
  Site site(1);
  Client client(site, "a");
  const Descriptor line = opened_line(site.port());
  client.heard();
  const auto request = read_request(1, 0, kQuantity);
  client.say("open " + site.port());
  REQUIRE(line.write(request));  // too early: it must wait for `opened`
  client.heard();
  CHECK(line.taken().empty());
  REQUIRE(line.write(request));
  site.settle();
  REQUIRE(line.wait());
  CHECK(line.taken().size() == reply_size(kQuantity));
}

TEST_CASE("PulledCableHoldsTimeUntilTheClientNoticed") {
  Site site(1, {action_at(0.01, ActionKind::line_unplug), action_at(0.02, ActionKind::line_plug)});
  Client client(site, "a");
  Descriptor line = opened_line(site.port());
  client.say("open " + site.port());
  client.heard();
  client.say("idle 1 - " + site.port() + " 0 0");
  CHECK(client.heard() == lines({now_line(2, site.start() + micros_from_hours(0.01))}));
  client.say("idle 2 - " + site.port() + " 0 0");
  CHECK(client.heard().empty());
  std::vector<std::uint8_t> bytes;
  REQUIRE(line.wait());
  CHECK_FALSE(line.read(bytes));
  line.close();
  client.say("closed " + site.port());
  CHECK(client.heard().empty());  // what it said before it noticed no longer counts
  client.say("idle 2 -");
  const UtcMicros back = site.start() + micros_from_hours(0.02);
  CHECK(client.heard() == lines({now_line(3, back)}));
  CHECK(::access(site.port().c_str(), F_OK) != 0);  // not before it knows what time it is
  client.say(idle_line(3, back + Micros{1'000'000}));
  CHECK(client.heard() == lines({now_line(4, back + Micros{1'000'000})}));

  line = opened_line(site.port());
  client.say("open " + site.port());
  CHECK(client.heard() == lines({"opened " + site.port()}));
  REQUIRE(line.write(read_request(1, 0, kQuantity)));
  site.settle();
  REQUIRE(line.wait());
  CHECK(line.taken().size() == reply_size(kQuantity));
}

TEST_CASE("FrameCutBySilenceIsDroppedWhenTimeMoves") {
  Site site(1);
  Client client(site, "a");
  const Descriptor line = opened_line(site.port());
  client.say("open " + site.port());
  client.heard();
  const auto request = read_request(1, 0, kQuantity);
  REQUIRE(line.write(std::span(request).first(3)));
  client.say(idle_line(1, site.start() + Micros{1'000'000}, " " + site.port() + " 3 0"));
  REQUIRE(client.heard().size() == 1);
  REQUIRE(line.write(request));
  site.settle();
  REQUIRE(line.wait());
  CHECK(line.taken().size() == reply_size(kQuantity));
}

TEST_CASE("FrameOfADeadClientDoesNotSpoilTheNextOne") {
  Site site(1);
  const auto request = read_request(1, 0, kQuantity);
  const Descriptor line = opened_line(site.port());
  {
    Client client(site, "a");
    client.say("open " + site.port());
    client.heard();
    REQUIRE(line.write(std::span(request).first(3)));
    client.heard();
    site.run().hold_for_client();
  }
  Client again(site, "a");
  again.say("open " + site.port());
  REQUIRE(again.heard().size() == 2);
  REQUIRE(line.write(request));
  site.settle();
  REQUIRE(line.wait());
  CHECK(line.taken().size() == reply_size(kQuantity));
}

TEST_CASE("ScenarioEndsAndWaitsForItsClients") {
  Site site(1);
  Client client(site, "a");
  client.say("idle 1 -");
  CHECK(client.heard() == lines({now_line(1, site.start()), now_line(2, site.run().utc_end())}));
  client.say("idle 2 -");
  CHECK(client.heard() == lines({"end"}));
  CHECK(site.run().step(std::chrono::milliseconds{0}) == StepOutcome::waiting);
  client.leave();
  site.settle();
  CHECK(site.run().step(std::chrono::milliseconds{0}) == StepOutcome::ended);
}

TEST_CASE("HeldTimeWaitsForTheClientToComeBack") {
  Site site(1);
  {
    Client client(site, "a");
    client.heard();
    site.run().hold_for_client();
  }
  site.settle();
  CHECK(site.run().utc_now() == site.start());
  Client again(site, "a");
  const UtcMicros wake = site.start() + Micros{3'000'000};
  again.say(idle_line(1, wake));
  CHECK(again.heard() == lines({now_line(1, site.start()), now_line(2, wake)}));
}

TEST_CASE("ClientStartedAgainFindsItsLineFree") {
  Site site(1);
  Client client(site, "a");
  client.say("open " + site.port());
  client.heard();
  site.run().hold_for_client();
  client.leave();
  Client again(site, "a");  // both are seen in one turn
  again.say("open " + site.port());
  CHECK(again.heard() == lines({now_line(1, site.start()), "opened " + site.port()}));
  CHECK(site.complaints.empty());
}

TEST_CASE("ClientThatBreaksTheProtocolIsDroppedWithOneLine") {
  for (const std::string line :
       {"idle 1", "idle 1 x", "idle 2 -", "idle 1 - port 1", "idle 1 - /none 0 0", "idle  1 -",
        "idle 1 - ", "idle -1 -", "open", "open /none", "hello again", "\x01garbage",
        "idle 1 9999999999999999999"}) {
    CAPTURE(line);
    Site site(2);
    Client good(site, "good");
    Client bad(site, "bad");
    const UtcMicros wake = site.start() + Micros{1'000'000};
    good.say(idle_line(1, wake));
    good.heard();
    REQUIRE(site.run().utc_now() == site.start());
    bad.say(line);
    CHECK_FALSE(bad.alive());
    REQUIRE(site.complaints.size() == 1);
    CHECK(site.complaints[0].find("time socket: client bad ") == 0);
    CHECK(site.complaints[0].find('\x01') == std::string::npos);
    CHECK(good.heard() == lines({now_line(2, wake)}));
  }
}

TEST_CASE("ClientWithoutHelloIsDropped") {
  Site site(1);
  Client client(site);
  client.say("idle 1 -");
  CHECK_FALSE(client.alive());
  CHECK(site.complaints ==
        lines({"time socket: client (no name) sent 'idle 1 -'; expected 'hello NAME' first; it is "
               "dropped"}));
}

TEST_CASE("LineHeldByOneClientIsRefusedToAnother") {
  Site site(2);
  Client first(site, "a");
  Client second(site, "b");
  first.say("open " + site.port());
  first.heard();
  second.say("open " + site.port());
  CHECK_FALSE(second.alive());
  REQUIRE(site.complaints.size() == 1);
  CHECK(site.complaints[0].find("which client 'a' holds") != std::string::npos);
  CHECK(first.alive());
}

TEST_CASE("SocketPathThatIsNoSocketIsRefused") {
  const TemporaryFolder folder;
  RunSettings settings;
  settings.scenario = scenario_from_name("quick").value();
  settings.time_socket = std::string(200, 'x');
  const auto too_long = SimulationRun::create(settings);
  REQUIRE_FALSE(too_long.has_value());
  CHECK(too_long.error().find("has 200 bytes; expected 1 to 107") != std::string::npos);
  std::filesystem::create_directory(folder.file("time"));
  settings.time_socket = folder.file("time");
  const auto occupied = SimulationRun::create(settings);
  REQUIRE_FALSE(occupied.has_value());
  CHECK(occupied.error().find("is no socket") != std::string::npos);
}

TEST_CASE("AWrongHostClockIsToldBesideTheTrueTime") {
  ScenarioAction step = action_at(1.0, ActionKind::host_clock_step);
  step.value = -3600.0;
  Site site(1, {action_at(0.0, ActionKind::host_clock_unset),
                action_at(0.5, ActionKind::host_clock_set), step});
  Client client(site, "a");
  const auto line = [&](std::uint64_t count, double hours, const std::string& host) {
    return now_line(count, site.start() + micros_from_hours(hours)) + host;
  };
  CHECK(client.heard() == lines({line(1, 0.0, " 0")}));
  client.say("idle 1 -");  // no timer: time stops where the clock of the machine changes
  CHECK(client.heard() == lines({line(2, 0.5, "")}));
  client.say("idle 2 -");
  CHECK(client.heard() == lines({line(3, 1.0, " " + std::to_string(site.start().value))}));
  CHECK(site.run().host_offset() == -micros_from_hours(1.0));
}

TEST_CASE("ALateReplyComesInItsOwnStep") {
  const auto scenario = script::scenario_from_text(
      "start 2026-03-02T07:00:00Z\nlength 3h\nbox 1\nat 0 delay reply of box 1 by 2s\n", "t");
  REQUIRE(scenario);
  Site site(1, {}, scenario.value().exchange_faults);
  Client client(site, "a");
  const Descriptor end = opened_line(site.port());
  client.say("open " + site.port());
  REQUIRE(client.heard().size() == 2);
  const auto request = read_request(1, 0, kQuantity);
  REQUIRE(end.write(request));
  client.say(idle_line(1, site.start() + Micros{600'000'000},
                       " " + site.port() + " " + std::to_string(request.size()) + " 0"));
  CHECK(client.heard() == lines({now_line(2, site.start() + Micros{2'000'000})}));
  std::vector<std::uint8_t> bytes;
  end.read(bytes);
  CHECK(bytes.empty());  // not before the client knows what time it is
  client.say(idle_line(2, site.start() + Micros{600'000'000},
                       " " + site.port() + " " + std::to_string(request.size()) + " 0"));
  CHECK(client.heard().empty());  // time waits until it has read the reply
  end.read(bytes);
  CHECK(bytes.size() == reply_size(kQuantity));
}
