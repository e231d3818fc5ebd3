#include "firmware-sim/target/machine/uart.hpp"

#include "firmware-sim/target/machine/registers.hpp"

namespace firmware::target::machine {
namespace {

Uart* served = nullptr;

volatile std::uint32_t& uart(std::uintptr_t offset) { return register_at(kUart0 + offset); }

}  // namespace

Uart::Uart(std::uint32_t baud) {
  served = this;
  uart(kUartBaudDivider) = kCoreHz / baud;
  uart(kUartControl) = kUartControlOn;
  register_at(kInterruptEnable) = kUart0Interrupts;
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
  for (const std::uint8_t byte : bytes) {
    static_cast<void>(to_send_.put(byte));
  }
  if (!sending_.load(std::memory_order_acquire)) {
    serve_sender();
  }
  return true;
}

void Uart::on_interrupt() {
  const std::uint32_t pending = uart(kUartInterrupt);
  uart(kUartInterrupt) = pending;
  if ((pending & kUartSendDone) != 0) {
    served->serve_sender();
  }
  served->serve_receiver();
}

void Uart::serve_receiver() {
  while ((uart(kUartState) & kUartReceiveFull) != 0) {
    const auto byte = static_cast<std::uint8_t>(uart(kUartData));
    bytes_received_ = bytes_received_ + 1;
    if (!received_.put(byte)) {
      bytes_dropped_ = bytes_dropped_ + 1;
    }
  }
  if ((uart(kUartState) & kUartReceiveOverrun) != 0) {
    uart(kUartState) = kUartReceiveOverrun;
    bytes_dropped_ = bytes_dropped_ + 1;
  }
}

// `sending_` goes up before the byte: its interrupt may come before the next line.
void Uart::serve_sender() {
  std::uint8_t byte = 0;
  if (!to_send_.take(byte)) {
    sending_.store(false, std::memory_order_release);
    return;
  }
  sending_.store(true, std::memory_order_release);
  uart(kUartData) = byte;
}

}  // namespace firmware::target::machine
