// The emulated machine with a box in it: a process of qemu-system-arm, its non-volatile memory as a
// file, its UARTs as sockets or a pseudo-terminal. What a test waits for has a limit that only
// turns a hang into a failure. Throws std::runtime_error when the emulator misbehaves.
#pragma once

#include <sys/types.h>

#include <cstdint>
#include <functional>
#include <span>
#include <string>
#include <vector>

#include "firmware-sim/target/control_block.hpp"

namespace target_test {

class Emulator {
 public:
  enum class Line { socket, pseudo_terminal };

  // `image`: path of the program. Makes a new memory, all zero; starts nothing.
  explicit Emulator(std::string image, Line line = Line::socket);
  Emulator(const Emulator&) = delete;
  Emulator& operator=(const Emulator&) = delete;
  ~Emulator();

  // A new process over the same memory; returns when the box runs.
  void start();
  // As pulling the plug of the computer it runs on (not of its disk).
  void kill();
  // The reset line of the board; returns when the box runs again.
  void reset();
  // The same where a power cut may be armed: false when the power failed on the way.
  bool reset_unless_cut();
  // Returns when `boots` starts of the box were seen in all and it runs.
  void wait_for_start(std::uint32_t starts);

  // Takes `count` samples of what the control block says; returns when they are stored, or when the
  // power failed: false.
  bool take_samples(std::uint32_t count);

  void wait_until(const std::function<bool()>& done, const std::string& what);
  // Lets the machine's own time go on by this much. REQUIRES: the box runs.
  void let_pass(std::uint64_t ms);

  [[nodiscard]] volatile firmware::target::ControlBlock& control();
  [[nodiscard]] firmware::target::BoxState state();
  // The flash part as it is: cells, wear and what it was made with. REQUIRES, to put it back: no
  // write is under way.
  [[nodiscard]] std::vector<std::uint8_t> flash_image(std::size_t blocks) const;
  void restore_flash(std::span<const std::uint8_t> image);
  [[nodiscard]] std::span<const std::uint32_t> erase_counts(std::size_t blocks) const;
  // Our ends of UART 0 (socket only) and UART 1; -1 when not started.
  [[nodiscard]] int line() const { return line_; }
  [[nodiscard]] int second_line() const { return second_line_; }
  // Of UART 0. REQUIRES: Line::pseudo_terminal, started.
  [[nodiscard]] std::string terminal();
  // A part of the emulated memory, wherever it is.
  [[nodiscard]] std::vector<std::uint8_t> memory_at(std::uint32_t address, std::uint32_t length);
  [[nodiscard]] const std::string& folder() const { return folder_; }

 private:
  std::string command(const std::string& json);
  void close_lines();

  std::string image_;
  Line kind_;
  std::string folder_;
  std::uint8_t* memory_ = nullptr;  // mapped
  pid_t process_ = -1;
  int line_ = -1;
  int second_line_ = -1;
  int monitor_ = -1;
  std::string monitor_text_;
};

// Sends `frame` on `descriptor` and reads one reply frame. Empty when none comes whole in 5 s.
[[nodiscard]] std::vector<std::uint8_t> exchange_on(int descriptor,
                                                    std::span<const std::uint8_t> frame);

}  // namespace target_test
