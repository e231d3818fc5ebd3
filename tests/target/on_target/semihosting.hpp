// What a test program on the emulated machine says to the outside. Source: Arm, Semihosting for
// AArch32 and AArch64, SYS_WRITE0 and SYS_EXIT_EXTENDED.
#pragma once

#include <cstdint>

namespace target_test {

inline std::uint32_t call_host(std::uint32_t operation, const void* parameter) {
  register std::uint32_t r0 asm("r0") = operation;
  register const void* r1 asm("r1") = parameter;
  asm volatile("bkpt 0xab" : "+r"(r0) : "r"(r1) : "memory");
  return r0;
}

inline void print(const char* text) { call_host(0x04, text); }

[[noreturn]] inline void exit_with(std::uint32_t status) {
  const std::uint32_t parameter[2] = {0x20026, status};  // the application's own exit
  for (;;) {
    call_host(0x20, parameter);
  }
}

}  // namespace target_test
