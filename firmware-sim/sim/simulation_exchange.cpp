// How a SimulationRun handles what comes in on a line: devices, hooks and faults of exchanges.
#include <algorithm>
#include <array>
#include <utility>

#include "firmware-sim/core/modbus_frame.hpp"
#include "firmware-sim/sim/simulation_run.hpp"

namespace firmware::sim {

using analysis::base::Micros;
using line::DeviceKind;
using line::ExchangeFaultKind;
using line::StruckFault;

namespace {

// Long enough that the bytes before a cut have been read, short beside any time-out.
constexpr Micros kBeforeCut{1'000};

const StruckFault* find(const std::vector<StruckFault>& struck, ExchangeFaultKind kind) {
  const auto found = std::find_if(struck.begin(), struck.end(),
                                  [&](const StruckFault& fault) { return fault.kind == kind; });
  return found == struck.end() ? nullptr : &*found;
}

std::vector<std::uint8_t> refusal(std::span<const std::uint8_t> frame, std::uint64_t code) {
  core::Request request;
  std::array<std::uint8_t, core::kMaxRtuFrame> reply{};
  std::size_t length = 0;
  if (core::parse_request(frame, request) != core::FrameStatus::crc_mismatch) {
    (void)core::build_exception(request, static_cast<std::uint8_t>(code), reply, length);
  }
  return {reply.begin(), reply.begin() + static_cast<std::ptrdiff_t>(length)};
}

}  // namespace

void SimulationRun::handle_frame(std::size_t line, const std::vector<std::uint8_t>& frame) {
  const std::uint64_t plug_count = lines_[line].pty->plug_count();
  if (lines_[line].echoes) {
    lines_[line].pty->write(frame);
  }
  if (frame.empty()) {
    return;
  }
  for (std::size_t i = 0; i < boxes_.size(); ++i) {
    const bool addressed =
        boxes_[i].line == line && boxes_[i].box->running() &&
        (frame[0] == boxes_[i].box->setup().unit || frame[0] == core::kBroadcastUnit);
    if (addressed) {
      run_exchange({DeviceKind::box, i, line, plug_count}, frame);
    }
  }
  for (std::size_t i = 0; i < transmitters_.size(); ++i) {
    if (transmitters_[i].line == line && frame[0] == transmitters_[i].transmitter->setup().unit) {
      run_exchange({DeviceKind::transmitter, i, line, plug_count}, frame);
    }
  }
}

bool SimulationRun::cut(const Exchange& exchange) const {
  const line::PtyLine& pty = *lines_[exchange.line].pty;
  return !pty.plugged() || pty.plug_count() != exchange.plug_count;
}

void SimulationRun::run_exchange(const Exchange& exchange, std::vector<std::uint8_t> frame) {
  const auto struck =
      faults_.strike(exchange.device, exchange.index, frame, now_ - settings_.scenario.start);
  std::vector<std::uint8_t> reply;
  if (ask_device(exchange, frame, struck, reply) && !reply.empty() && !cut(exchange)) {
    send_reply(exchange, std::move(reply), struck);
  }
}

bool SimulationRun::ask_device(const Exchange& exchange, std::vector<std::uint8_t>& frame,
                               const std::vector<StruckFault>& struck,
                               std::vector<std::uint8_t>& reply) {
  const bool is_box = exchange.device == DeviceKind::box;
  const RequestFate fate =
      is_box && request_hook_ ? request_hook_(exchange.index, frame) : RequestFate::answer;
  if (find(struck, ExchangeFaultKind::restart_daemon) != nullptr) {
    if (restart_hook_) {
      restart_hook_();
    } else {
      complaint_("a fault of the scenario restarts the daemon; nobody here can do that");
    }
    return false;
  }
  if (fate == RequestFate::drop || cut(exchange) ||
      find(struck, ExchangeFaultKind::lose_request) != nullptr) {
    return false;
  }
  if (const StruckFault* fault = find(struck, ExchangeFaultKind::refuse_request)) {
    reply = refusal(frame, fault->amount);
    return true;
  }
  if (const StruckFault* fault = find(struck, ExchangeFaultKind::corrupt_request)) {
    faults_.corrupt(frame, fault->amount);
  }
  if (is_box) {
    reply = boxes_[exchange.index].box->answer(frame, now_);
  } else {
    reply = transmitters_[exchange.index].transmitter->answer(frame, site_state());
  }
  if (is_box && reply_hook_ && fate == RequestFate::answer && !reply.empty()) {
    reply_hook_(exchange.index, reply);
  }
  return fate == RequestFate::answer && find(struck, ExchangeFaultKind::lose_reply) == nullptr;
}

void SimulationRun::send_reply(const Exchange& exchange, std::vector<std::uint8_t> reply,
                               const std::vector<StruckFault>& struck) {
  Micros delay{0};
  const StruckFault* unplug = nullptr;
  for (const StruckFault& fault : struck) {
    if (fault.kind == ExchangeFaultKind::corrupt_reply) {
      faults_.corrupt(reply, fault.amount);
    } else if (fault.kind == ExchangeFaultKind::cut_reply) {
      reply.resize(fault.amount % (reply.size() + 1));
    } else if (fault.kind == ExchangeFaultKind::repeat_reply) {
      const std::vector<std::uint8_t> copy = reply;
      reply.insert(reply.end(), copy.begin(), copy.end());
    } else if (fault.kind == ExchangeFaultKind::noise_before_reply) {
      const auto noise = faults_.noise(fault.amount);
      reply.insert(reply.begin(), noise.begin(), noise.end());
    } else if (fault.kind == ExchangeFaultKind::delay_reply) {
      delay += fault.span;
    } else if (fault.kind == ExchangeFaultKind::unplug_in_reply) {
      unplug = &fault;
    }
  }
  if (unplug != nullptr) {
    send_and_unplug(exchange, std::move(reply), *unplug);
  } else if (delay.count() == 0) {
    lines_[exchange.line].pty->write(reply);
  } else {
    push(now_ + delay, true, [this, exchange, late = std::move(reply)] {
      when_told([this, exchange, late] {
        if (!cut(exchange)) {
          lines_[exchange.line].pty->write(late);
        }
      });
    });
  }
}

void SimulationRun::send_and_unplug(const Exchange& exchange, std::vector<std::uint8_t> reply,
                                    const StruckFault& fault) {
  reply.resize(fault.amount % (reply.size() + 1));
  lines_[exchange.line].pty->write(reply);
  push(now_ + kBeforeCut, true, [this, exchange] {
    when_told([this, exchange] {
      if (!cut(exchange)) {
        set_plugged(exchange.line, false);
      }
    });
  });
  push(now_ + kBeforeCut + fault.span, true,
       [this, exchange] { when_told([this, exchange] { set_plugged(exchange.line, true); }); });
}

}  // namespace firmware::sim
