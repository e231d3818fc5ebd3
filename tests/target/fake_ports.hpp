// Byte ports for tests: what comes in is given, what goes out is kept.
#pragma once

#include <algorithm>
#include <cstdint>
#include <deque>
#include <optional>
#include <span>
#include <sstream>
#include <string>
#include <vector>

#include "firmware-sim/target/sensors/byte_ports.hpp"

namespace firmware::target {

using Bytes = std::vector<std::uint8_t>;

inline Bytes bytes_from_hex(const std::string& text) {
  std::istringstream words(text);
  Bytes bytes;
  for (std::string word; words >> word;) {
    bytes.push_back(static_cast<std::uint8_t>(std::stoul(word, nullptr, 16)));
  }
  return bytes;
}

class FakeSerial final : public SerialPort {
 public:
  std::size_t receive(std::span<std::uint8_t> into) override {
    const std::size_t count = std::min(into.size(), incoming.size());
    std::copy_n(incoming.begin(), count, into.begin());
    incoming.erase(incoming.begin(), incoming.begin() + static_cast<std::ptrdiff_t>(count));
    return count;
  }
  bool send(std::span<const std::uint8_t> bytes) override {
    if (!bytes.empty()) {
      sent.emplace_back(bytes.begin(), bytes.end());
    }
    return true;
  }
  void give(const Bytes& bytes) { incoming.insert(incoming.end(), bytes.begin(), bytes.end()); }

  std::deque<std::uint8_t> incoming;
  std::vector<Bytes> sent;  // one entry for each send
};

// A part at one address that answers each read with `answer`.
class FakeI2c final : public I2cPort {
 public:
  bool write(std::uint8_t address, std::span<const std::uint8_t> bytes) override {
    written.emplace_back(bytes.begin(), bytes.end());
    return present && address == part_address;
  }
  bool read(std::uint8_t address, std::span<std::uint8_t> into) override {
    ++reads;
    if (!present || address != part_address || !answer || answer->size() != into.size()) {
      return false;
    }
    std::copy(answer->begin(), answer->end(), into.begin());
    return true;
  }

  std::uint8_t part_address = 0x40;
  bool present = true;
  std::optional<Bytes> answer;  // none: not acknowledged
  std::vector<Bytes> written;
  int reads = 0;
};

class FakePin final : public InputPin, public OutputPin {
 public:
  [[nodiscard]] bool is_high() const override { return level; }
  void set(bool high) override { level = high; }
  bool level = false;
};

class FakeConverter final : public AnalogInput {
 public:
  [[nodiscard]] std::uint16_t convert() override { return counts; }
  std::uint16_t counts = 0;
};

// A part on the two wires: keeps what is written to its address, answers reads with `answer`, and
// holds the clock down after each falling edge.
class FakeWires final : public I2cWires {
 public:
  void set_clock(bool high) override {
    clock_released_ = high;
    settle();
  }
  void set_data(bool high) override {
    const bool before = data_is_high();
    data_released_ = high;
    if (level_ && before != data_is_high()) {
      restart(before);
    }
  }
  [[nodiscard]] bool clock_is_high() const override {
    return clock_released_ && now_us >= held_us_;
  }
  [[nodiscard]] bool data_is_high() const override {
    return data_released_ && part_releases_ && stuck_clocks == 0;
  }
  void wait_us(std::uint32_t us) override {
    now_us += us;
    settle();
  }

  std::uint8_t part_address = 0x40;
  std::uint64_t stretch_us = 0;  // after each falling edge
  int stuck_clocks = 0;          // clocks until the part lets go of the data wire
  Bytes answer;
  Bytes written;
  int starts = 0;
  int stops = 0;
  std::uint64_t now_us = 0;

 private:
  // A change of data while the clock is high: down is a start, up a stop.
  void restart(bool was_high) {
    ++(was_high ? starts : stops);
    bit_ = was_high ? 0 : -1;
    fresh_ = was_high;
    byte_ = 0;
    addressed_ = reading_ = false;
    part_releases_ = true;
  }
  void settle() {
    const bool level = clock_is_high();
    if (level == level_) {
      return;
    }
    level_ = level;
    if (level) {
      stuck_clocks -= stuck_clocks > 0 ? 1 : 0;
      rise();
    } else {
      held_us_ = now_us + stretch_us;
      fall();
    }
  }
  void rise() {
    if (bit_ >= 0 && bit_ < 8 && !reading_) {
      byte_ = static_cast<std::uint8_t>((unsigned{byte_} << 1U) | (data_is_high() ? 1U : 0U));
    } else if (bit_ == 8 && reading_ && data_is_high() && sent_ > 0) {
      bit_ = -2;  // not acknowledged: the controller has enough
    }
  }
  void fall() {
    if (bit_ < 0) {
      part_releases_ = true;
      return;
    }
    bit_ = fresh_ ? 0 : bit_ + 1;
    fresh_ = false;
    part_releases_ = true;
    if (bit_ == 8) {
      end_byte();
    } else if (bit_ == 9) {
      bit_ = 0;
      byte_ = 0;
      reading_ = reading_ || to_read_;
      to_read_ = false;
    }
    if (reading_ && bit_ < 8) {
      part_releases_ = sent_ >= answer.size() || ((answer[sent_] >> (7 - bit_)) & 1U) != 0;
    }
  }
  void end_byte() {
    if (reading_) {
      ++sent_;
      return;
    }
    if (addressed_) {
      written.push_back(byte_);
      part_releases_ = false;
      return;
    }
    addressed_ = (byte_ >> 1U) == part_address;
    to_read_ = addressed_ && (byte_ & 1U) != 0;
    part_releases_ = !addressed_;
    sent_ = 0;
  }

  bool clock_released_ = true;
  bool data_released_ = true;
  bool part_releases_ = true;
  bool level_ = true;
  bool fresh_ = false;
  bool addressed_ = false;
  bool reading_ = false;
  bool to_read_ = false;
  int bit_ = -1;  // of the byte; 8: acknowledge; negative: nothing is meant for the part
  std::uint8_t byte_ = 0;
  std::size_t sent_ = 0;
  std::uint64_t held_us_ = 0;
};

}  // namespace firmware::target
