#include "firmware-sim/target/machine/uart.hpp"

#include "firmware-sim/target/machine/registers.hpp"

namespace firmware::target::machine {
namespace {

std::array<Uart*, Uart::kUarts> served{};

}  // namespace

Uart::Uart(std::size_t number, std::uint32_t baud) : base_(kUart0 + number * kUartStride) {
  served[number] = this;
  at(kUartBaudDivider) = kCoreHz / baud;
  at(kUartControl) = kUartControlOn;
  register_at(kInterruptEnable) = kUartInterrupts << (2 * number);
}

volatile std::uint32_t& Uart::at(std::uintptr_t offset) const {
  return register_at(base_ + offset);
}

std::size_t Uart::receive(std::span<std::uint8_t> into) {
  std::size_t count = 0;
  while (count < into.size() && received_.take(into[count])) {
    ++count;
  }
  return count;
}

bool Uart::send(std::span<const std::uint8_t> bytes) {
  if (bytes.size() > to_send_.free()) {
    return false;
  }
  if (bytes.empty()) {
    return true;
  }
  // Before the first byte: the ring may be emptied by the interrupt from then on.
  if (gate_ != nullptr) {
    gate_->open();
  }
  for (const std::uint8_t byte : bytes) {
    static_cast<void>(to_send_.put(byte));
  }
  if (!sending_.load(std::memory_order_acquire)) {
    serve_sender();
  }
  return true;
}

void Uart::on_interrupt(std::size_t number) {
  Uart& uart = *served[number];
  const std::uint32_t pending = uart.at(kUartInterrupt);
  uart.at(kUartInterrupt) = pending;
  if ((pending & kUartSendDone) != 0) {
    uart.serve_sender();
  }
  uart.serve_receiver();
}

void Uart::serve_receiver() {
  while ((at(kUartState) & kUartReceiveFull) != 0) {
    const auto byte = static_cast<std::uint8_t>(at(kUartData));
    bytes_received_ = bytes_received_ + 1;
    if (!received_.put(byte)) {
      bytes_dropped_ = bytes_dropped_ + 1;
    }
  }
  if ((at(kUartState) & kUartReceiveOverrun) != 0) {
    at(kUartState) = kUartReceiveOverrun;
    bytes_dropped_ = bytes_dropped_ + 1;
  }
}

// `sending_` goes up before the byte: its interrupt may come before the next line.
void Uart::serve_sender() {
  std::uint8_t byte = 0;
  if (!to_send_.take(byte)) {
    sending_.store(false, std::memory_order_release);
    if (gate_ != nullptr) {
      gate_->last_byte_begun();
    }
    return;
  }
  sending_.store(true, std::memory_order_release);
  at(kUartData) = byte;
}

}  // namespace firmware::target::machine
