// A UART with a ring of bytes each way, served by interrupts.
#pragma once

#include <array>
#include <atomic>
#include <cstddef>
#include <cstdint>
#include <span>

#include "firmware-sim/target/sensors/byte_ports.hpp"
#include "firmware-sim/target/transmit_gate.hpp"

namespace firmware::target::machine {

// Bytes from one writer to one reader, one of them an interrupt.
template <std::size_t kCapacity>
class ByteRing {
 public:
  static_assert((kCapacity & (kCapacity - 1)) == 0, "a power of two, so that counters may wrap");

  [[nodiscard]] std::size_t used() const {
    return written_.load(std::memory_order_acquire) - read_.load(std::memory_order_acquire);
  }
  [[nodiscard]] std::size_t free() const { return kCapacity - used(); }
  // False: full.
  bool put(std::uint8_t byte) {
    const std::uint32_t at = written_.load(std::memory_order_relaxed);
    if (free() == 0) {
      return false;
    }
    bytes_[at % kCapacity] = byte;
    written_.store(at + 1, std::memory_order_release);
    return true;
  }
  // False: empty.
  bool take(std::uint8_t& byte) {
    const std::uint32_t at = read_.load(std::memory_order_relaxed);
    if (used() == 0) {
      return false;
    }
    byte = bytes_[at % kCapacity];
    read_.store(at + 1, std::memory_order_release);
    return true;
  }

 private:
  std::array<std::uint8_t, kCapacity> bytes_{};
  std::atomic<std::uint32_t> written_{0};  // ever
  std::atomic<std::uint32_t> read_{0};
};

class Uart final : public SerialPort {
 public:
  static constexpr std::size_t kRingBytes = 512;

  static constexpr std::size_t kUarts = 2;

  // Begins at once. 8 data bits, no parity, one stop bit. REQUIRES: number < kUarts, one Uart for
  // each number, for ever.
  Uart(std::size_t number, std::uint32_t baud);

  // Sending opens `gate`, the last byte closes it. Before the first send; lives for ever.
  void set_gate(TransmitGate& gate) { gate_ = &gate; }

  std::size_t receive(std::span<std::uint8_t> into) override;
  bool send(std::span<const std::uint8_t> bytes) override;

  [[nodiscard]] std::uint32_t bytes_received() const { return bytes_received_; }
  // Ring full, or an overrun of the receiver.
  [[nodiscard]] std::uint32_t bytes_dropped() const { return bytes_dropped_; }

  static void on_interrupt(std::size_t number);

 private:
  [[nodiscard]] volatile std::uint32_t& at(std::uintptr_t offset) const;
  void serve_receiver();
  void serve_sender();

  std::uintptr_t base_;
  TransmitGate* gate_ = nullptr;  // none: a line that is not shared
  ByteRing<kRingBytes> received_;
  ByteRing<kRingBytes> to_send_;
  std::atomic<bool> sending_{false};  // the sender holds a byte, so its interrupt will come
  volatile std::uint32_t bytes_received_ = 0;
  volatile std::uint32_t bytes_dropped_ = 0;
};

}  // namespace firmware::target::machine
