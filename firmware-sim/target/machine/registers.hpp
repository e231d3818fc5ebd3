// Registers of the machine: Cortex-M3 system control and the APB peripherals of the AN385 image.
// Sources: Arm v7-M Architecture Reference Manual, B3.2 and B3.3 (system control, SysTick) and B3.4
// (NVIC); Arm Application Note AN385, memory map and interrupts; Cortex-M System Design Kit, APB
// UART programmer's model.
#pragma once

#include <cstdint>

namespace firmware::target::machine {

inline volatile std::uint32_t& register_at(std::uintptr_t address) {
  return *reinterpret_cast<volatile std::uint32_t*>(address);
}

inline constexpr std::uint32_t kCoreHz = 25'000'000;

inline constexpr std::uintptr_t kSysTickControl = 0xe000e010;
inline constexpr std::uintptr_t kSysTickReload = 0xe000e014;
inline constexpr std::uintptr_t kSysTickValue = 0xe000e018;
inline constexpr std::uint32_t kSysTickOn = 7;  // core clock, interrupt, enable
inline constexpr std::uintptr_t kInterruptEnable = 0xe000e100;
inline constexpr std::uintptr_t kResetControl = 0xe000ed0c;
inline constexpr std::uint32_t kResetRequest = 0x05fa0004;

inline constexpr std::uintptr_t kUart0 = 0x40004000;
inline constexpr std::uintptr_t kUartData = 0x00;
inline constexpr std::uintptr_t kUartState = 0x04;
inline constexpr std::uintptr_t kUartControl = 0x08;
inline constexpr std::uintptr_t kUartInterrupt = 0x0c;  // read: pending, write: clear
inline constexpr std::uintptr_t kUartBaudDivider = 0x10;
inline constexpr std::uint32_t kUartSendFull = 1U << 0U;
inline constexpr std::uint32_t kUartReceiveFull = 1U << 1U;
inline constexpr std::uint32_t kUartReceiveOverrun = 1U << 3U;
inline constexpr std::uint32_t kUartControlOn = 0x0f;  // send, receive, and an interrupt for each
inline constexpr std::uint32_t kUartSendDone = 1U << 0U;
inline constexpr std::uint32_t kUartReceived = 1U << 1U;
inline constexpr std::uint32_t kUart0Interrupts = 0x3;  // 0 receive, 1 send

inline constexpr std::uintptr_t kNonVolatile = 0x21000000;  // PSRAM, 16 MiB

}  // namespace firmware::target::machine
