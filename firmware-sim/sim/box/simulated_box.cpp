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
    : setup_(setup), sensors_(sensors, seed), memory_(std::move(memory)) {}

SimulatedBox::~SimulatedBox() = default;

core::Status SimulatedBox::boot(UtcMicros at) {
  core::BoxSettings settings;
  settings.address = setup_.unit;
  settings.serial = setup_.serial;
  settings.fitted_channels = kFittedChannels;
  settings.sample_interval_s = setup_.sample_interval_s;
  firmware_ = std::make_unique<core::ProbeBox>(*memory_, settings);
  booted_at_ = at;
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
  const double elapsed_us = static_cast<double>((at - booted_at_).count());
  return static_cast<std::uint64_t>(elapsed_us * (1.0 + setup_.drift_ppm * 1e-6) / kMicrosPerTick);
}

UtcMicros SimulatedBox::next_sample_at() const {
  const double elapsed_us =
      static_cast<double>(next_sample_ticks_ms_) * kMicrosPerTick / (1.0 + setup_.drift_ppm * 1e-6);
  return booted_at_ + Micros{static_cast<std::int64_t>(std::ceil(elapsed_us))};
}

core::Status SimulatedBox::take_sample(const site::SiteState& truth, UtcMicros at) {
  firmware_->set_ticks(std::max(ticks_at(at), next_sample_ticks_ms_));
  next_sample_ticks_ms_ += std::uint64_t{1000} * firmware_->sample_interval_s();
  return firmware_->store_sample(sensors_.measure(truth, at - powered_at_.value_or(at)));
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
