#include "firmware-sim/sim/box/simulated_box.hpp"

#include <unistd.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>
#include <fstream>

#include "analysis/base/record.hpp"

using namespace firmware::sim;
using analysis::base::Celsius;
using analysis::base::ChannelStatus;
using analysis::base::Micros;
using analysis::base::RelativeHumidity;
using analysis::base::UtcMicros;
using firmware::core::Status;

namespace {

site::SiteState some_truth() {
  site::SiteState truth;
  truth.air_temperature = Celsius{20.0};
  truth.air_rh = RelativeHumidity{0.5};
  truth.core_temperature = Celsius{-5.0};
  truth.slab_surface_temperature = Celsius{18.0};
  truth.slab_rh = RelativeHumidity{0.8};
  return truth;
}

std::uint8_t wire(ChannelStatus status) { return static_cast<std::uint8_t>(status); }

box::SensorParameters exact_sensors() {
  box::SensorParameters parameters;
  for (auto& channel : parameters.channels) {
    channel.bias_sd = 0.0;
    channel.noise_sd = 0.0;
  }
  return parameters;
}

class TemporaryFile {
 public:
  TemporaryFile()
      : path_(std::filesystem::temp_directory_path() /
              ("dwellog-nv-" + std::to_string(::getpid()))) {
    std::filesystem::remove(path_);
  }
  ~TemporaryFile() { std::filesystem::remove(path_); }
  [[nodiscard]] std::string path() const { return path_.string(); }

 private:
  std::filesystem::path path_;
};

}  // namespace

TEST_CASE("FlashClearsBitsOnlyUntilItsBlockIsErased") {
  box::FlashMemory memory(1024, 256);
  const std::array<std::uint8_t, 2> first{0xf0, 0x0f};
  const std::array<std::uint8_t, 2> back{0xff, 0x0f};
  std::array<std::uint8_t, 2> read{};
  CHECK(memory.program(256, first) == Status::ok);
  CHECK(memory.program(256, back) == Status::memory_fault);
  REQUIRE(memory.read(256, read) == Status::ok);
  CHECK(read == first);
  CHECK(memory.erase(1) == Status::ok);
  REQUIRE(memory.read(256, read) == Status::ok);
  CHECK(read == std::array<std::uint8_t, 2>{0xff, 0xff});
  CHECK(memory.erase_counts() == std::vector<std::uint32_t>{0, 1, 0, 0});
}

TEST_CASE("FlashRefusesWhatLiesOutside") {
  box::FlashMemory memory(1024, 256);
  std::array<std::uint8_t, 4> bytes{};
  CHECK(memory.read(1021, bytes) == Status::invalid_argument);
  CHECK(memory.program(1021, bytes) == Status::invalid_argument);
  CHECK(memory.program(static_cast<std::size_t>(-2), bytes) == Status::invalid_argument);
  CHECK(memory.erase(4) == Status::invalid_argument);
  CHECK(memory.read(1020, bytes) == Status::ok);
}

TEST_CASE("FlashInAFileOutlivesTheProgram") {
  const TemporaryFile file;
  const std::array<std::uint8_t, 3> bytes{1, 2, 3};
  {
    const auto memory = box::FlashMemory::open(file.path(), 1024, 256);
    REQUIRE(memory.has_value());
    REQUIRE(memory.value()->program(300, bytes) == Status::ok);
  }
  const auto memory = box::FlashMemory::open(file.path(), 1024, 256);
  REQUIRE(memory.has_value());
  CHECK(memory.value()->bytes()[301] == 2);
  CHECK(memory.value()->bytes()[0] == 0xff);
}

TEST_CASE("FlashFileOfAnotherSizeIsRefused") {
  const TemporaryFile file;
  std::ofstream(file.path()) << "short";
  const auto memory = box::FlashMemory::open(file.path(), 1024, 256);
  REQUIRE_FALSE(memory.has_value());
  CHECK(memory.error() ==
        "box memory " + file.path() + ": has 5 bytes; expected 1024 or a new file");
}

TEST_CASE("ExactSensorsGiveTheCountsOfTheRegisterMap") {
  box::SensorSet sensors(exact_sensors(), 1);
  const auto sample = sensors.measure(some_truth(), Micros{0});
  CHECK(sample.raw_counts == std::array<std::int16_t, 8>{2000, 5000, -500, 1800, 8000, 4100, 0, 0});
  for (std::size_t channel = 0; channel < 8; ++channel) {
    CHECK(sample.statuses[channel] ==
          wire(channel < 6 ? ChannelStatus::ok : ChannelStatus::not_fitted));
  }
  CHECK(sample.flags == 0);
}

TEST_CASE("NoiseAndBiasHaveTheSizeThatWasAsked") {
  auto parameters = exact_sensors();
  parameters.channels[0].noise_sd = 0.5;
  parameters.channels[4].bias_sd = 2.0;
  box::SensorSet sensors(parameters, 42);
  double sum = 0.0;
  double squares = 0.0;
  constexpr int kSamples = 4000;
  const auto first = sensors.measure(some_truth(), Micros{0});
  for (int i = 0; i < kSamples; ++i) {
    const auto sample = sensors.measure(some_truth(), Micros{0});
    const double error = sample.raw_counts[0] / 100.0 - 20.0;
    sum += error;
    squares += error * error;
    REQUIRE(sample.raw_counts[4] == first.raw_counts[4]);  // a bias stays
  }
  CHECK(std::abs(sum / kSamples) < 0.03);  // 4 standard errors
  CHECK(std::sqrt(squares / kSamples) == Approx(0.5).epsilon(0.05));
  CHECK(first.raw_counts[4] != 8000);
}

TEST_CASE("ValuesBeyondASensorGiveAStatusAndNoCounts") {
  box::SensorSet sensors(exact_sensors(), 1);
  auto truth = some_truth();
  truth.core_temperature = Celsius{-41.0};
  truth.air_rh = RelativeHumidity{1.01};
  truth.air_temperature = Celsius{500.0};
  const auto sample = sensors.measure(truth, Micros{0});
  for (const std::size_t channel : {0, 1, 2}) {
    CHECK(sample.statuses[channel] == wire(ChannelStatus::out_of_range));
    CHECK(sample.raw_counts[channel] == 0);
  }
  CHECK(sample.statuses[3] == wire(ChannelStatus::ok));
}

TEST_CASE("SensorFaultShowsUntilItIsMended") {
  box::SensorSet sensors(exact_sensors(), 1);
  sensors.set_status(2, wire(ChannelStatus::open_circuit));
  CHECK(sensors.measure(some_truth(), Micros{0}).statuses[2] == wire(ChannelStatus::open_circuit));
  sensors.set_status(2, wire(ChannelStatus::ok));
  CHECK(sensors.measure(some_truth(), Micros{0}).raw_counts[2] == -500);
}

TEST_CASE("LowSupplySetsTheFlag") {
  auto parameters = exact_sensors();
  parameters.supply_start_volt = 3.31;
  box::SensorSet sensors(parameters, 1);
  CHECK(sensors.measure(some_truth(), Micros{0}).flags == 0);
  CHECK(sensors.measure(some_truth(), Micros{86'400'000'000}).flags ==
        analysis::base::kFlagSupplyLow);
}

TEST_CASE("LowSupplyStaysLowUntilItIsClearlyAbove") {
  box::SensorSet sensors(exact_sensors(), 1);
  const auto is_low_at = [&](double volt) {
    sensors.set_supply(volt);
    return (sensors.measure(some_truth(), Micros{0}).flags & analysis::base::kFlagSupplyLow) != 0;
  };
  CHECK_FALSE(is_low_at(3.31));
  CHECK(is_low_at(3.29));
  CHECK(is_low_at(3.39));
  CHECK_FALSE(is_low_at(3.41));
  CHECK_FALSE(is_low_at(3.31));
}

TEST_CASE("BoxCountsTicksByItsOwnClock") {
  box::BoxSetup setup;
  setup.drift_ppm = 100.0;
  auto made = box::SimulatedBox::create(setup, exact_sensors(), 1);
  REQUIRE(made.has_value());
  auto& tested = *made.value();
  const UtcMicros boot{1'772'434'800'000'000};
  REQUIRE(tested.boot(boot) == Status::ok);
  CHECK(tested.ticks_at(boot + Micros{1'000'000'000}) == 1'000'100);
  CHECK(tested.next_sample_at() - boot == Micros{1'999'801});  // 2000 ticks, rounded up
  REQUIRE(tested.take_sample(some_truth(), tested.next_sample_at()) == Status::ok);
  CHECK(tested.firmware().ticks_ms() == 2000);
  CHECK(tested.next_sample_at() - boot == Micros{61'993'801});
  CHECK(tested.firmware().held() == 1);
}

TEST_CASE("RebootKeepsRecordsAndStartsTicksAnew") {
  auto made = box::SimulatedBox::create(box::BoxSetup{}, exact_sensors(), 1);
  REQUIRE(made.has_value());
  auto& tested = *made.value();
  const UtcMicros start{1'772'434'800'000'000};
  REQUIRE(tested.boot(start) == Status::ok);
  REQUIRE(tested.take_sample(some_truth(), tested.next_sample_at()) == Status::ok);
  const auto first_boot = tested.firmware().boot();
  const UtcMicros later = start + Micros{3'600'000'000};
  REQUIRE(tested.boot(later) == Status::ok);
  CHECK(tested.firmware().boot() > first_boot);
  CHECK(tested.firmware().held() == 1);
  CHECK(tested.ticks_at(later) == 0);
  CHECK(tested.next_sample_at() == later + Micros{2'000'000});
}

TEST_CASE("HeldFrozenAndSpikedChannelsLeaveTheOthersAlone") {
  auto parameters = exact_sensors();
  parameters.channels[1].noise_sd = 0.5;
  box::SensorSet sound(parameters, 4);
  box::SensorSet faulty(parameters, 4);
  auto truth = some_truth();
  (void)sound.measure(truth, Micros{0});
  (void)faulty.measure(truth, Micros{0});
  faulty.hold(2, 85.0);
  faulty.freeze(3);
  faulty.spike(0, -15.0);
  faulty.set_supply(3.2);
  faulty.set_flag(analysis::base::kFlagLidOpen, true);
  truth.slab_surface_temperature = Celsius{25.0};
  const auto expected = sound.measure(truth, Micros{0});
  auto sample = faulty.measure(truth, Micros{0});
  CHECK(sample.raw_counts[0] == 500);
  CHECK(sample.raw_counts[1] == expected.raw_counts[1]);
  CHECK(sample.raw_counts[2] == 8500);
  CHECK(sample.raw_counts[3] == 1800);
  CHECK(sample.raw_counts[5] == 3200);
  CHECK(sample.flags == (analysis::base::kFlagLidOpen | analysis::base::kFlagSupplyLow));
  faulty.free(2);
  faulty.free(3);
  faulty.set_supply(std::nullopt);
  faulty.set_flag(analysis::base::kFlagLidOpen, false);
  sample = faulty.measure(truth, Micros{0});
  CHECK(sample.raw_counts[0] == 2000);  // a spike is one sample
  CHECK(sample.raw_counts[2] == -500);
  CHECK(sample.raw_counts[3] == 2500);
  CHECK(sample.flags == 0);
}

TEST_CASE("ABoxClockThatJumpsOrChangesItsRateGoesOnSampling") {
  constexpr UtcMicros kBoot{1'000'000'000};
  const auto after = [&](std::int64_t seconds) { return kBoot + Micros{seconds * 1'000'000}; };
  auto made = box::SimulatedBox::create({}, exact_sensors(), 1);
  REQUIRE(made.has_value());
  box::SimulatedBox& box = *made.value();
  REQUIRE(box.boot(kBoot) == Status::ok);
  CHECK(box.next_sample_at() == after(2));
  REQUIRE(box.take_sample(some_truth(), after(2)) == Status::ok);
  box.step_clock(Micros{90'000'000}, after(10));
  CHECK(box.ticks_at(after(10)) == 100'000);
  CHECK(box.next_sample_at() == after(62));
  REQUIRE(box.take_sample(some_truth(), after(62)) == Status::ok);
  box.set_drift(1000.0, after(100));
  CHECK(box.ticks_at(after(1100)) == 1'191'000);  // 190 s, then 1000 s that count as 1001
  box.set_drift(0.0, after(1100));
  box.step_clock(Micros{-600'000'000}, after(1100));
  CHECK(box.ticks_at(after(1100)) == 591'000);
  box.step_clock(Micros{-900'000'000}, after(1100));
  CHECK(box.ticks_at(after(1100)) == 0);
  REQUIRE(box.taken().size() == 2);
  CHECK(box.taken()[1].at == after(62));
  CHECK(box.taken()[1].ticks_ms == 152'000);
  CHECK(box.taken()[1].id == firmware::core::RecordKey{1, 2});
}

TEST_CASE("ABoxWithoutPowerKeepsItsRecords") {
  constexpr UtcMicros kBoot{1'000'000'000};
  auto made = box::SimulatedBox::create({}, exact_sensors(), 1);
  REQUIRE(made.has_value());
  REQUIRE(made.value()->boot(kBoot) == Status::ok);
  REQUIRE(made.value()->take_sample(some_truth(), kBoot + Micros{2'000'000}) == Status::ok);
  made.value()->power_off();
  CHECK_FALSE(made.value()->running());
  REQUIRE(made.value()->boot(kBoot + Micros{9'000'000}) == Status::ok);
  CHECK(made.value()->firmware().held() == 1);
  CHECK(made.value()->firmware().boot() == 2);
}
