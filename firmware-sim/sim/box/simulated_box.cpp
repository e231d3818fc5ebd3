#include "firmware-sim/sim/box/simulated_box.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace firmware::sim::box {
namespace {

constexpr std::size_t kBlockBytes = 4096;
constexpr std::uint64_t kFirstSampleTicksMs = 2000;  // sensors settle first
constexpr double kMicrosPerTick = 1000.0;

}  // namespace

using analysis::base::Failure;
using analysis::base::Micros;
using analysis::base::Result;
using analysis::base::UtcMicros;

Result<std::unique_ptr<SimulatedBox>, std::string> SimulatedBox::create(
    const BoxSetup& setup, const SensorParameters& sensors, std::uint64_t seed) {
  std::unique_ptr<FlashMemory> memory;
  if (setup.memory_file.empty()) {
    memory = std::make_unique<FlashMemory>(setup.memory_bytes, kBlockBytes);
  } else {
    auto opened = FlashMemory::open(setup.memory_file, setup.memory_bytes, kBlockBytes);
    if (!opened) {
      return Failure{opened.error()};
    }
    memory = std::move(opened).value();
  }
  return std::unique_ptr<SimulatedBox>(new SimulatedBox(setup, sensors, seed, std::move(memory)));
}

SimulatedBox::SimulatedBox(const BoxSetup& setup, const SensorParameters& sensors,
                           std::uint64_t seed, std::unique_ptr<FlashMemory> memory)
    : setup_(setup),
      sensors_(sensors, seed),
      memory_(std::move(memory)),
      drift_ppm_(setup.drift_ppm) {}

SimulatedBox::~SimulatedBox() = default;

core::Status SimulatedBox::boot(UtcMicros at) {
  core::BoxSettings settings;
  settings.address = setup_.unit;
  settings.serial = setup_.serial;
  settings.fitted_channels = kFittedChannels;
  settings.sample_interval_s = setup_.sample_interval_s;
  firmware_ = std::make_unique<core::ProbeBox>(*memory_, settings);
  clock_set_at_ = at;
  clock_us_ = 0.0;
  if (!powered_at_) {
    powered_at_ = at;
  }
  next_sample_ticks_ms_ = kFirstSampleTicksMs;
  const core::Status status = firmware_->start();
  if (status != core::Status::ok) {
    firmware_.reset();
  }
  return status;
}

std::uint64_t SimulatedBox::ticks_at(UtcMicros at) const {
  const double elapsed_us = static_cast<double>((at - clock_set_at_).count());
  return static_cast<std::uint64_t>((clock_us_ + elapsed_us * (1.0 + drift_ppm_ * 1e-6)) /
                                    kMicrosPerTick);
}

void SimulatedBox::set_drift(double ppm, UtcMicros at) {
  step_clock(Micros{0}, at);
  drift_ppm_ = ppm;
}

void SimulatedBox::step_clock(Micros by, UtcMicros at) {
  const double elapsed_us = static_cast<double>((at - clock_set_at_).count());
  const double shown_us = clock_us_ + elapsed_us * (1.0 + drift_ppm_ * 1e-6);
  const double due_in_us = static_cast<double>(next_sample_ticks_ms_) * kMicrosPerTick - shown_us;
  clock_us_ = std::max(0.0, shown_us + static_cast<double>(by.count()));
  clock_set_at_ = at;
  next_sample_ticks_ms_ =
      static_cast<std::uint64_t>(std::llround((clock_us_ + due_in_us) / kMicrosPerTick));
  if (by.count() != 0) {
    firmware_->set_ticks(ticks_at(at));  // also backwards, which a sound box never does
  }
}

UtcMicros SimulatedBox::next_sample_at() const {
  const double left_us = (static_cast<double>(next_sample_ticks_ms_) * kMicrosPerTick - clock_us_) /
                         (1.0 + drift_ppm_ * 1e-6);
  return clock_set_at_ + Micros{static_cast<std::int64_t>(std::ceil(left_us))};
}

core::Status SimulatedBox::take_sample(const site::SiteState& truth, UtcMicros at) {
  const std::uint64_t ticks = std::max(ticks_at(at), next_sample_ticks_ms_);
  firmware_->set_ticks(ticks);
  next_sample_ticks_ms_ += std::uint64_t{1000} * firmware_->sample_interval_s();
  const core::Sample sample = sensors_.measure(truth, at - powered_at_.value_or(at));
  const core::Status status = firmware_->store_sample(sample);
  if (status == core::Status::ok) {
    taken_.push_back({{firmware_->boot(), firmware_->sequence()}, ticks, at, sample});
  }
  return status;
}

std::vector<std::uint8_t> SimulatedBox::answer(std::span<const std::uint8_t> frame, UtcMicros at) {
  std::array<std::uint8_t, core::kMaxRtuFrame> reply{};
  std::size_t length = 0;
  firmware_->set_ticks(std::max(ticks_at(at), firmware_->ticks_ms()));
  // A memory fault is in the reply already: exception 04.
  (void)firmware_->answer(frame, reply, length);
  return {reply.begin(), reply.begin() + static_cast<std::ptrdiff_t>(length)};
}

}  // namespace firmware::sim::box
