// Registers of the machine: Cortex-M3 system control and the APB peripherals of the AN385 image.
// Sources: Arm v7-M Architecture Reference Manual, B3.2 and B3.3 (system control, SysTick) and B3.4
// (NVIC); Arm Application Note AN385, memory map and interrupts; Cortex-M System Design Kit, APB
// UART, APB timer and APB watchdog programmer's models.
#pragma once

#include <cstdint>

namespace firmware::target::machine {

inline volatile std::uint32_t& register_at(std::uintptr_t address) {
  // An address is all a register has.
  return *reinterpret_cast<volatile std::uint32_t*>(address);  // NOLINT(performance-no-int-to-ptr)
}

inline constexpr std::uint32_t kCoreHz = 25'000'000;

inline constexpr std::uintptr_t kSysTickControl = 0xe000e010;
inline constexpr std::uintptr_t kSysTickReload = 0xe000e014;
inline constexpr std::uintptr_t kSysTickValue = 0xe000e018;
inline constexpr std::uint32_t kSysTickOn = 7;  // core clock, interrupt, enable
inline constexpr std::uintptr_t kInterruptEnable = 0xe000e100;
inline constexpr std::uintptr_t kResetControl = 0xe000ed0c;
inline constexpr std::uint32_t kResetRequest = 0x05fa0004;

inline constexpr std::uintptr_t kUart0 = 0x40004000;  // UART n is n * kUartStride further on
inline constexpr std::uintptr_t kUartStride = 0x1000;
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
inline constexpr std::uint32_t kUartInterrupts = 0x3;  // of UART n: 2n receive, 2n + 1 send

inline constexpr std::uintptr_t kTimerControl = 0x40000000;  // timer 0
inline constexpr std::uintptr_t kTimerValue = 0x40000004;
inline constexpr std::uintptr_t kTimerReload = 0x40000008;
inline constexpr std::uintptr_t kTimerInterrupt = 0x4000000c;   // write 1: clear
inline constexpr std::uint32_t kTimerOn = 1U << 0U | 1U << 3U;  // with its interrupt
inline constexpr std::uint32_t kTimerInterruptNumber = 8;

inline constexpr std::uintptr_t kWatchdogLoad = 0x40008000;
inline constexpr std::uintptr_t kWatchdogControl = 0x40008008;
inline constexpr std::uintptr_t kWatchdogClear =
    0x4000800c;                                    // any write: counts from the load anew
inline constexpr std::uint32_t kWatchdogOn = 0x3;  // interrupt (NMI), at the next time-out a reset

// Two wires of the expansion header: the first register shows both and lets go of those written as
// 1, the second pulls those down.
inline constexpr std::uintptr_t kI2cRelease = 0x4002a000;
inline constexpr std::uintptr_t kI2cPull = 0x4002a004;
inline constexpr std::uint32_t kI2cClock = 1U << 0U;
inline constexpr std::uint32_t kI2cData = 1U << 1U;

inline constexpr std::uintptr_t kRam = 0x20000000;  // as in the linker script
inline constexpr std::uint32_t kRamBytes = 16U << 10U;
inline constexpr std::uintptr_t kNonVolatile = 0x21000000;  // PSRAM, 16 MiB

}  // namespace firmware::target::machine
