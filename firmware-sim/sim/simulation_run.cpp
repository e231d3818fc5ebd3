#include "firmware-sim/sim/simulation_run.hpp"

#include <poll.h>

#include <algorithm>
#include <iostream>
#include <utility>

namespace firmware::sim {
namespace {

using analysis::base::Failure;
using analysis::base::Micros;
using analysis::base::Result;
using analysis::base::UtcMicros;
using std::chrono::milliseconds;
using std::chrono::steady_clock;

// Over a pipe any pause longer than a sender makes inside a frame counts as silence.
constexpr milliseconds kSilence{20};

// Apart from every serial a box is likely to have.
constexpr std::uint64_t kFaultSeed = 0xfa017;
constexpr std::uint64_t kTransmitterSeed = 0x7a45;

std::uint64_t box_seed(std::uint64_t seed, std::uint64_t serial) {
  return seed * 0x9e3779b97f4a7c15ULL + serial;
}

std::string box_text(const BoxOnLine& placed) { return "box " + std::to_string(placed.box.serial); }

}  // namespace

Result<std::unique_ptr<SimulationRun>, std::string> SimulationRun::create(RunSettings settings) {
  if (std::string fault = fault_of(settings); !fault.empty()) {
    return Failure{std::move(fault)};
  }
  std::unique_ptr<SimulationRun> run(new SimulationRun(std::move(settings)));
  if (auto opened = run->open(); !opened) {
    return Failure{opened.error()};
  }
  return run;
}

SimulationRun::SimulationRun(RunSettings settings)
    : settings_(std::move(settings)),
      site_(settings_.scenario.site, settings_.scenario.start, settings_.scenario.seed),
      now_(settings_.scenario.start),
      end_(settings_.scenario.start + settings_.scenario.length),
      complaint_([](const std::string& text) { std::cerr << text << '\n'; }),
      faults_(settings_.scenario.exchange_faults, box_seed(settings_.scenario.seed, kFaultSeed)),
      wall_start_(steady_clock::now()) {}

SimulationRun::~SimulationRun() = default;

Result<void, std::string> SimulationRun::open() {
  for (const std::string& port : ports_of(settings_)) {
    auto pty = std::make_unique<line::PtyLine>(port);
    auto requests = std::make_unique<line::RequestReader>(*pty);
    lines_.push_back({std::move(pty), std::move(requests), false});
    if (auto plugged = lines_.back().pty->plug(); !plugged) {
      return plugged;
    }
  }
  for (std::size_t i = 0; i < settings_.boxes.size(); ++i) {
    if (auto placed = place_box(i); !placed) {
      return placed;
    }
  }
  for (const TransmitterOnLine& wanted : settings_.transmitters) {
    const std::uint64_t seed =
        box_seed(settings_.scenario.seed, kTransmitterSeed + transmitters_.size());
    transmitters_.push_back(
        {std::make_unique<box::Transmitter>(wanted.transmitter, seed), line_at(wanted.port)});
  }
  schedule_actions();
  move_to(now_);  // what is due at the start is done before anyone can ask
  if (settings_.pace != Pace::lock_step) {
    return {};
  }
  server_ = std::make_unique<line::TimeServer>(
      settings_.time_socket, now_, [this](std::string_view port) { return find_line(port); },
      [this](const std::string& text) { complaint_(text); });
  server_->set_host_offset(host_offset_);
  server_->await_hellos(settings_.clients);
  return server_->listen();
}

std::optional<std::size_t> SimulationRun::line_at(std::string_view port) const {
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    if (lines_[i].pty->link_path() == port) {
      return i;
    }
  }
  return std::nullopt;
}

Result<void, std::string> SimulationRun::place_box(std::size_t index) {
  const BoxOnLine& wanted = settings_.boxes[index];
  auto made = box::SimulatedBox::create(wanted.box, settings_.scenario.sensors,
                                        box_seed(settings_.scenario.seed, wanted.box.serial));
  if (!made) {
    return Failure{made.error()};
  }
  boxes_.push_back({std::move(made).value(), line_at(wanted.port), 0, {}});
  push(settings_.scenario.start + wanted.box.power_on_after_start, false,
       [this, index] { start_box(index); });
  return {};
}

line::PtyLine* SimulationRun::find_line(std::string_view port) {
  const auto index = line_at(port);
  return index ? lines_[*index].pty.get() : nullptr;
}

line::PtyLine& SimulationRun::line_of(std::size_t box_index) {
  return *lines_.at(boxes_.at(box_index).line.value()).pty;
}

void SimulationRun::set_complaint(std::function<void(const std::string&)> complaint) {
  complaint_ = std::move(complaint);
}

void SimulationRun::push(UtcMicros at, bool visible, std::function<void()> action) {
  events_.emplace(std::pair{at, next_order_++}, Event{visible, std::move(action)});
}

void SimulationRun::when_told(std::function<void()> action) {
  if (server_) {
    when_told_.push_back(std::move(action));
  } else {
    action();
  }
}

void SimulationRun::at(UtcMicros at, std::function<void()> action) {
  push(at, true, std::move(action));
}

void SimulationRun::hold_for_client() {
  if (server_) {
    server_->await_hellos(server_->hellos() + 1);
  }
}

void SimulationRun::start_box(std::size_t index) {
  PlacedBox& placed = boxes_[index];
  ++placed.start_number;
  if (placed.box->boot(now_) != core::Status::ok) {
    complaint_(box_text(settings_.boxes[index]) + " can't start: its memory or settings are unfit");
    return;
  }
  schedule_sample(index);
}

void SimulationRun::schedule_sample(std::size_t index) {
  const std::uint64_t start_number = boxes_[index].start_number;
  push(boxes_[index].box->next_sample_at(), false, [this, index, start_number] {
    PlacedBox& placed = boxes_[index];
    if (placed.start_number != start_number) {
      return;
    }
    site_.advance_to(now_);
    if (placed.box->take_sample(placed.surroundings.seen(site_, now_), now_) != core::Status::ok) {
      complaint_(box_text(settings_.boxes[index]) + " could not store a sample");
    }
    schedule_sample(index);
  });
}

bool SimulationRun::serve(milliseconds wait) {
  std::vector<pollfd> descriptors;
  for (const Line& line : lines_) {
    const short writing = line.pty->has_unsent() ? short{POLLOUT} : short{0};
    descriptors.push_back({line.pty->master_descriptor(), static_cast<short>(POLLIN | writing), 0});
  }
  if (server_) {
    server_->append_descriptors(descriptors);
  }
  if (::poll(descriptors.data(), descriptors.size(), static_cast<int>(wait.count())) <= 0) {
    return false;
  }
  if (settings_.pace == Pace::wall_clock && !over_) {
    move_to(
        std::min(end_, wall_now()));  // a box answers with its clock of now, not of the last turn
  }
  // The time server first: an `open` drains the line, and bytes sent before it must not be
  // answered.
  bool any = server_ && server_->serve();
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    if (descriptors[i].revents != 0) {
      lines_[i].pty->flush();
      any = lines_[i].requests->take_bytes([&](const std::vector<std::uint8_t>& frame) {
        handle_frame(i, frame);
      }) || any;
    }
  }
  return any;
}

bool SimulationRun::fall_silent(std::size_t index) {
  return lines_[index].requests->fall_silent(
      [&](const std::vector<std::uint8_t>& frame) { handle_frame(index, frame); });
}

StepOutcome SimulationRun::step(milliseconds wait) {
  if (stop_asked_.load(std::memory_order_relaxed)) {
    return StepOutcome::ended;
  }
  if (over_ && (!server_ || server_->all_gone())) {
    return StepOutcome::ended;
  }
  if (serve(milliseconds{0}) || (!over_ && move())) {
    return StepOutcome::worked;
  }
  return serve(wait_for_next(wait)) ? StepOutcome::worked : StepOutcome::waiting;
}

void SimulationRun::run() {
  while (step(milliseconds{1000}) != StepOutcome::ended) {
  }
}

bool SimulationRun::move() {
  if (settings_.pace == Pace::lock_step) {
    return move_lock_step();
  }
  bool answered = false;
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    if (lines_[i].requests->inside_frame() &&
        steady_clock::now() - lines_[i].requests->last_byte_at() >= kSilence) {
      answered = fall_silent(i) || answered;
    }
  }
  if (now_ >= end_) {
    end_scenario();
    return true;
  }
  UtcMicros target = end_;
  if (settings_.pace == Pace::wall_clock) {
    target = std::min(end_, wall_now());
  } else if (!events_.empty()) {
    target = std::min(end_, events_.begin()->first.first);
  }
  const bool due = !events_.empty() && events_.begin()->first.first <= target;
  move_to(target);
  return answered || due || settings_.pace == Pace::free;
}

bool SimulationRun::move_lock_step() {
  if (!server_->all_idle()) {
    return false;
  }
  if (!when_told_.empty()) {
    for (const auto& action : std::exchange(when_told_, {})) {
      action();
    }
    return true;
  }
  bool answered = false;
  for (std::size_t i = 0; i < lines_.size(); ++i) {
    answered = fall_silent(i) || answered;
  }
  if (answered) {
    return true;  // those bytes are on their way now
  }
  if (now_ >= end_) {
    end_scenario();
    return true;
  }
  UtcMicros target = std::min(end_, server_->earliest_wake().value_or(end_));
  const auto seen = std::find_if(events_.begin(), events_.end(),
                                 [](const auto& entry) { return entry.second.visible; });
  if (seen != events_.end()) {
    target = std::min(target, seen->first.first);
  }
  move_to(std::max(target, now_));
  server_->tell(now_);
  return true;
}

void SimulationRun::move_to(UtcMicros target) {
  while (!events_.empty() && events_.begin()->first.first <= target) {
    auto event = events_.extract(events_.begin());
    now_ = std::max(now_, event.key().first);
    event.mapped().action();
  }
  now_ = std::max(now_, target);
}

UtcMicros SimulationRun::wall_now() const {
  const auto elapsed = steady_clock::now() - wall_start_;
  return settings_.scenario.start + std::chrono::duration_cast<Micros>(elapsed);
}

milliseconds SimulationRun::wait_for_next(milliseconds wait) const {
  if (settings_.pace != Pace::wall_clock) {
    return wait;
  }
  if (std::any_of(lines_.begin(), lines_.end(),
                  [](const Line& line) { return line.requests->inside_frame(); })) {
    return std::min(wait, kSilence);
  }
  const UtcMicros next = events_.empty() ? end_ : std::min(end_, events_.begin()->first.first);
  const auto until = std::chrono::ceil<milliseconds>(next - wall_now());
  return std::clamp(until, milliseconds{0}, wait);
}

void SimulationRun::end_scenario() {
  over_ = true;
  site_.advance_to(now_);
  if (server_) {
    server_->tell_end();
  }
}

site::SiteState SimulationRun::site_state() {
  site_.advance_to(now_);
  return site_.state_at(now_);
}

std::string SimulationRun::holder() const { return server_ ? server_->holder() : std::string(); }

}  // namespace firmware::sim
