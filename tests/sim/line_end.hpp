// The logger's end of a simulated line and of the time socket, as small as tests need it.
#pragma once

#include <fcntl.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <array>
#include <cstdint>
#include <cstring>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "firmware-sim/core/modbus_frame.hpp"

namespace sim_test {

class TemporaryFolder {
 public:
  TemporaryFolder() {
    std::string name = (std::filesystem::temp_directory_path() / "dwellog-sim-XXXXXX").string();
    path_ = ::mkdtemp(name.data());
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder() { std::filesystem::remove_all(path_); }
  [[nodiscard]] std::string file(const std::string& name) const { return path_ + "/" + name; }

 private:
  std::string path_;
};

// An open descriptor; reads never block.
class Descriptor {
 public:
  explicit Descriptor(int descriptor) : descriptor_(descriptor) {}
  Descriptor(Descriptor&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(descriptor_, other.descriptor_);
    return *this;
  }
  ~Descriptor() { close(); }
  void close() {
    if (descriptor_ >= 0) {
      ::close(descriptor_);
    }
    descriptor_ = -1;
  }
  [[nodiscard]] bool is_open() const { return descriptor_ >= 0; }
  [[nodiscard]] bool write(std::span<const std::uint8_t> bytes) const {
    return ::write(descriptor_, bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size());
  }
  // Appends what is there. False when the other end hung up.
  bool read(std::vector<std::uint8_t>& into) const {
    std::array<std::uint8_t, 1024> bytes{};
    const ssize_t count = ::read(descriptor_, bytes.data(), bytes.size());
    if (count > 0) {
      into.insert(into.end(), bytes.begin(), bytes.begin() + count);
    }
    return count > 0 || (count < 0 && errno == EAGAIN);
  }
  [[nodiscard]] std::vector<std::uint8_t> taken() const {
    std::vector<std::uint8_t> bytes;
    read(bytes);
    return bytes;
  }
  // Whether anything (bytes or a hang-up) is there within ten seconds.
  [[nodiscard]] bool wait() const {
    pollfd waiting{descriptor_, POLLIN, 0};
    return ::poll(&waiting, 1, 10'000) == 1;
  }

 private:
  int descriptor_;
};

inline Descriptor opened_line(const std::string& port) {
  return Descriptor(::open(port.c_str(), O_RDWR | O_NOCTTY | O_NONBLOCK | O_CLOEXEC));
}

inline Descriptor connected_to(const std::string& socket_path) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  std::strncpy(address.sun_path, socket_path.c_str(), sizeof address.sun_path - 1);
  const int descriptor = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  if (::connect(descriptor, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0) {
    ::close(descriptor);
    return Descriptor(-1);
  }
  return Descriptor(descriptor);
}

// Reads `quantity` registers from `address` of `unit`.
inline std::vector<std::uint8_t> read_request(std::uint8_t unit, std::uint16_t address,
                                              std::uint16_t quantity) {
  firmware::core::Request request;
  request.unit = unit;
  request.function = firmware::core::kReadHoldingRegisters;
  request.address = address;
  request.quantity = quantity;
  std::array<std::uint8_t, firmware::core::kMaxRtuFrame> frame{};
  std::size_t length = 0;
  (void)firmware::core::build_request(request, frame, length);
  return {frame.begin(), frame.begin() + static_cast<std::ptrdiff_t>(length)};
}

// Length of the reply to it: unit, function, byte count, registers, CRC.
constexpr std::size_t reply_size(std::uint16_t quantity) { return 5U + 2U * quantity; }

}  // namespace sim_test
