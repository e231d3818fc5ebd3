// A simulated off-the-shelf transmitter: a plain register device on the line, without records,
// boots or identity. Answers functions 03 and 04 with the truth of the moment in the number format
// that its map declares. Its layout is invented for each scenario. One thread.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "firmware-sim/sim/physics/noise.hpp"
#include "firmware-sim/sim/site/site_truth.hpp"

namespace firmware::sim::box {

// In the units of SensorParameters: degC, %RH, V.
enum class Quantity : std::uint8_t {
  air_temperature,
  air_rh,
  core_temperature,
  slab_surface_temperature,
  slab_rh,
  outdoor_temperature,
  outdoor_rh,
  supply,
};
[[nodiscard]] double value_from_truth(const site::SiteState& truth, Quantity quantity);

enum class NumberType : std::uint8_t { i16, u16, i32, u32, f32 };
[[nodiscard]] std::size_t register_count_of(NumberType type);

// raw = (value in `unit` - offset) / scale; integers are rounded.
struct TransmitterRegister {
  std::string name;  // one word
  Quantity quantity = Quantity::air_temperature;
  std::uint8_t function = 3;  // 3 or 4
  std::uint16_t address = 0;
  NumberType type = NumberType::i16;
  bool low_word_first = false;
  double scale = 1.0;  // not 0
  double offset = 0.0;
  bool fahrenheit = false;  // of a temperature
  bool fraction = false;    // of an RH: 0 to 1 instead of %RH
  bool millivolt = false;   // of the supply
  double noise_sd = 0.0;    // degC, %RH, V
};

struct TransmitterSetup {
  std::uint8_t unit = 20;
  double supply_volt = 24.0;
  std::vector<TransmitterRegister> registers;
};

class Transmitter {
 public:
  Transmitter(TransmitterSetup setup, std::uint64_t seed);

  // The reply to one whole RTU frame; empty = silent (other unit, broken CRC, switched off). A read
  // beyond its registers is exception 02, a function it does not have exception 01.
  [[nodiscard]] std::vector<std::uint8_t> answer(std::span<const std::uint8_t> frame,
                                                 const site::SiteState& truth);

  // REQUIRES for these: the register exists.
  void hold(std::size_t index, double raw);
  void freeze(std::size_t index);
  void free(std::size_t index);
  void set_words_flipped(bool flipped) { words_flipped_ = flipped; }
  void set_powered(bool powered) { powered_ = powered; }
  [[nodiscard]] const TransmitterSetup& setup() const { return setup_; }

 private:
  struct Condition {
    std::optional<double> held_raw;
    bool frozen = false;
    std::optional<double> last_raw;
  };

  [[nodiscard]] double raw_of(std::size_t index, const site::SiteState& truth);
  // The 16-bit words of a register as they stand on the wire.
  [[nodiscard]] std::vector<std::uint16_t> words_of(std::size_t index,
                                                    const site::SiteState& truth);

  TransmitterSetup setup_;
  std::vector<Condition> conditions_;
  physics::Noise noise_;
  bool words_flipped_ = false;
  bool powered_ = true;
};

}  // namespace firmware::sim::box
