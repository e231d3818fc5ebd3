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

}  // namespace firmware::target
