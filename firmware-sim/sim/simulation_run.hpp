// A whole simulated site at work: truth, boxes, lines and time. One thread, one poll loop; step()
// lets a test drive it in its own process. Simulated time moves in lock step with the clients of
// the time server (docs/simulated-time.md), or with the wall clock, or freely when there is
// neither.
#pragma once

#include <atomic>
#include <chrono>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "analysis/base/result.hpp"
#include "analysis/base/time.hpp"
#include "firmware-sim/sim/box/simulated_box.hpp"
#include "firmware-sim/sim/line/pty_line.hpp"
#include "firmware-sim/sim/line/request_reader.hpp"
#include "firmware-sim/sim/line/time_server.hpp"
#include "firmware-sim/sim/run_settings.hpp"
#include "firmware-sim/sim/scenario.hpp"
#include "firmware-sim/sim/site/place/box_surroundings.hpp"
#include "firmware-sim/sim/site/site_truth.hpp"

namespace firmware::sim {

// What happens to a request that arrived whole, before the box sees it.
enum class RequestFate : std::uint8_t {
  answer,
  drop,        // the box never saw it
  lose_reply,  // the box acted on it, its reply is lost
};
// Called with the index of the box and the frame (address to CRC). It may unplug lines, end
// processes and call hold_for_client(); it must not destroy the run or call step(). A cable pulled
// here loses the request.
using RequestHook =
    std::function<RequestFate(std::size_t box, std::span<const std::uint8_t> frame)>;
// May change the reply (cut, corrupt, repeat) before it is sent, or unplug the line.
using ReplyHook = std::function<void(std::size_t box, std::vector<std::uint8_t>& reply)>;

enum class StepOutcome : std::uint8_t {
  worked,   // bytes or lines came in, or time moved
  waiting,  // nothing happened within the wait
  ended,    // the scenario is over and every client is gone, or stop was asked
};

class SimulationRun {
 public:
  // Makes lines and socket. The error is one line: what failed, where, what was expected.
  [[nodiscard]] static analysis::base::Result<std::unique_ptr<SimulationRun>, std::string> create(
      RunSettings settings);
  SimulationRun(const SimulationRun&) = delete;
  SimulationRun& operator=(const SimulationRun&) = delete;
  ~SimulationRun();  // removes links and socket

  // One turn of the loop; waits for at most `wait` of wall time when nothing is due.
  StepOutcome step(std::chrono::milliseconds wait);
  // Steps until ended.
  void run();
  // Makes the next step() end. May be called from a signal handler.
  void request_stop() { stop_asked_.store(true, std::memory_order_relaxed); }

  [[nodiscard]] analysis::base::UtcMicros utc_now() const { return now_; }
  [[nodiscard]] analysis::base::UtcMicros utc_start() const { return settings_.scenario.start; }
  [[nodiscard]] analysis::base::UtcMicros utc_end() const { return end_; }
  [[nodiscard]] bool scenario_over() const { return over_; }

  void set_request_hook(RequestHook hook) { request_hook_ = std::move(hook); }
  void set_reply_hook(ReplyHook hook) { reply_hook_ = std::move(hook); }
  // Receives one clear line about each client that had to be dropped; stderr unless set.
  void set_complaint(std::function<void(const std::string&)> complaint);
  // What to do when an exchange fault of the scenario restarts the daemon; without it such a fault
  // is one line of complaint.
  void set_restart_hook(std::function<void()> hook) { restart_hook_ = std::move(hook); }
  // Calls `action` when simulated time gets there; clients are told of that moment.
  // REQUIRES: at >= utc_now().
  void at(analysis::base::UtcMicros at, std::function<void()> action);
  // Holds time until one client more than those so far has said hello. For harnesses that kill a
  // client and start it again at the same simulated moment.
  void hold_for_client();
  // At once. REQUIRES: what the action names exists.
  void perform(const ScenarioAction& action);
  // For people: who holds time; empty = no one.
  [[nodiscard]] std::string holder() const;

  [[nodiscard]] std::size_t box_count() const { return boxes_.size(); }
  [[nodiscard]] box::SimulatedBox& box(std::size_t index) { return *boxes_.at(index).box; }
  [[nodiscard]] line::PtyLine& line_of(std::size_t box_index);  // REQUIRES: it has a port
  // How often each exchange fault of the scenario has struck, in their order.
  [[nodiscard]] std::vector<std::uint64_t> faults_struck() const { return faults_.struck(); }
  // What the clock of the machine beside the site shows, less the true time.
  [[nodiscard]] analysis::base::Micros host_offset() const { return host_offset_; }
  [[nodiscard]] site::SiteTruth& site() { return site_; }
  // The truth now.
  [[nodiscard]] site::SiteState site_state();

 private:
  struct Event {
    bool visible = false;  // a client could notice it: time stops there
    std::function<void()> action;
  };
  struct PlacedBox {
    std::unique_ptr<box::SimulatedBox> box;
    std::optional<std::size_t> line;
    std::uint64_t start_number = 0;  // sample events of an earlier boot are void
    site::BoxSurroundings surroundings;
  };
  struct PlacedTransmitter {
    std::unique_ptr<box::Transmitter> transmitter;
    std::optional<std::size_t> line;
  };
  struct Line {
    std::unique_ptr<line::PtyLine> pty;
    std::unique_ptr<line::RequestReader> requests;
    bool echoes = false;
  };
  // One exchange of one device, and whether its line was cut since it began.
  struct Exchange {
    line::DeviceKind device = line::DeviceKind::box;
    std::size_t index = 0;
    std::size_t line = 0;
    std::uint64_t plug_count = 0;
  };

  explicit SimulationRun(RunSettings settings);
  analysis::base::Result<void, std::string> open();
  analysis::base::Result<void, std::string> place_box(std::size_t index);
  [[nodiscard]] std::optional<std::size_t> line_at(std::string_view port) const;
  void schedule_actions();
  line::PtyLine* find_line(std::string_view port);
  void push(analysis::base::UtcMicros at, bool visible, std::function<void()> action);
  // Does what a client sees on a line at the present moment, once every client has been told that
  // it is this moment and has done what was due: else it might see it with its clock still before.
  void when_told(std::function<void()> action);
  void start_box(std::size_t index);
  void schedule_sample(std::size_t index);
  void perform_on_site(const ScenarioAction& action);
  void perform_on_line(const ScenarioAction& action, std::size_t index);
  void perform_on_box(const ScenarioAction& action, std::size_t index);
  void perform_on_sensors(const ScenarioAction& action, box::SensorSet& sensors);
  void perform_on_transmitter(const ScenarioAction& action, box::Transmitter& transmitter);
  void perform_on_host(const ScenarioAction& action);
  void swap_lines(std::size_t first, std::size_t second);
  void set_plugged(std::size_t line, bool plugged);
  bool serve(std::chrono::milliseconds wait);
  bool fall_silent(std::size_t line);
  void handle_frame(std::size_t line, const std::vector<std::uint8_t>& frame);
  [[nodiscard]] bool cut(const Exchange& exchange) const;
  void run_exchange(const Exchange& exchange, std::vector<std::uint8_t> frame);
  // The device's own reply to the frame; false when the request was lost on the way.
  bool ask_device(const Exchange& exchange, std::vector<std::uint8_t>& frame,
                  const std::vector<line::StruckFault>& struck, std::vector<std::uint8_t>& reply);
  void send_reply(const Exchange& exchange, std::vector<std::uint8_t> reply,
                  const std::vector<line::StruckFault>& struck);
  void send_and_unplug(const Exchange& exchange, std::vector<std::uint8_t> reply,
                       const line::StruckFault& fault);
  bool move();
  bool move_lock_step();
  void move_to(analysis::base::UtcMicros target);
  [[nodiscard]] analysis::base::UtcMicros wall_now() const;
  [[nodiscard]] std::chrono::milliseconds wait_for_next(std::chrono::milliseconds wait) const;
  void end_scenario();

  RunSettings settings_;
  site::SiteTruth site_;
  analysis::base::UtcMicros now_;
  analysis::base::UtcMicros end_;
  bool over_ = false;
  std::atomic<bool> stop_asked_ = false;
  std::vector<PlacedBox> boxes_;
  std::vector<PlacedTransmitter> transmitters_;
  std::vector<Line> lines_;
  std::function<void(const std::string&)> complaint_;
  std::unique_ptr<line::TimeServer> server_;
  // By time, then in the order they were asked for.
  std::map<std::pair<analysis::base::UtcMicros, std::uint64_t>, Event> events_;
  std::uint64_t next_order_ = 0;
  std::vector<std::function<void()>> when_told_;
  RequestHook request_hook_;
  ReplyHook reply_hook_;
  std::function<void()> restart_hook_;
  line::ExchangeFaults faults_;
  analysis::base::Micros host_offset_{0};
  std::chrono::steady_clock::time_point wall_start_;
};

}  // namespace firmware::sim
