// The program of the box on the emulated Cortex-M3: wires core, flash, line and front end.
//   qemu-system-arm -M mps2-an385,memory-backend=nv -display none -serial pty -kernel probe-box.elf
//     -object memory-backend-file,id=nv,mem-path=FILE,size=16M,share=on
// UART 0 is the line to the master, UART 1 that of the slab probe; FILE keeps the records, and its
// first page is the control block.
#include "firmware-sim/target/box_loop.hpp"
#include "firmware-sim/target/control_block.hpp"
#include "firmware-sim/target/flash_model.hpp"
#include "firmware-sim/target/machine/board.hpp"
#include "firmware-sim/target/machine/pins.hpp"
#include "firmware-sim/target/machine/timer.hpp"
#include "firmware-sim/target/machine/uart.hpp"
#include "firmware-sim/target/machine/watchdog.hpp"
#include "firmware-sim/target/sensors/i2c_bus.hpp"
#include "firmware-sim/target/sensors/scripted_front_end.hpp"
#include "firmware-sim/target/sensors/wired_front_end.hpp"

namespace firmware::target {
namespace {

constexpr std::uint32_t kSlabBaud = 9600;
// Example values: command, time and scales are those of the fitted part's data sheet.
constexpr HumidityPart kAirPart{.address = 0x40,
                                .measure_command = 0x0001,
                                .conversion_ms = 20,
                                .temperature = {-4000, 16500},
                                .humidity = {0, 10000}};
constexpr HumidityPart kCorePart{.address = 0x41,
                                 .measure_command = kAirPart.measure_command,
                                 .conversion_ms = kAirPart.conversion_ms,
                                 .temperature = kAirPart.temperature,
                                 .humidity = kAirPart.humidity};
// Our assumption: a divider to half before a converter of 12 bits that ends at 3.3 V.
constexpr SupplyScale kSupplyScale{
    .full_count = 4095, .full_scale_mv = 6600, .low_below_mv = 3300, .good_from_mv = 3400};
// Our assumption: a lid bounces for milliseconds; a box that is only pushed is upright in a second.
constexpr ContactWiring kLidWiring{.active_high = true, .hold_ms = 30};
constexpr ContactWiring kTiltWiring{.active_high = true, .hold_ms = 1000};

std::uint32_t or_default(std::uint32_t word, std::uint32_t otherwise) {
  return word != 0 ? word : otherwise;
}

core::BoxSettings settings_from(const volatile ControlBlock& control) {
  return {.address = static_cast<std::uint8_t>(or_default(control.unit, 1)),
          .serial = or_default(control.serial, kDefaultSerial)};
}

FlashModel::Part part_from(const volatile ControlBlock& control) {
  const std::uint32_t blocks = or_default(control.flash_blocks, kDefaultFlashBlocks);
  return machine::flash_part(blocks <= kMaxFlashBlocks ? blocks : kDefaultFlashBlocks);
}

void manufacture_when_new(FlashModel& flash) {
  const auto blocks = static_cast<std::uint32_t>(flash.size() / flash.block_size());
  if (machine::made_blocks() != blocks) {
    flash.manufacture();
    machine::made_blocks() = blocks;
  }
}

void take_orders(volatile ControlBlock& control, BoxLoop& loop, std::uint32_t& samples_ordered) {
  while (samples_ordered != control.samples_wanted) {
    ++samples_ordered;
    loop.request_sample();
  }
  control.samples_taken = samples_ordered - loop.extra_samples_due();
  if (control.resets_taken != control.resets_wanted) {
    control.resets_taken = control.resets_wanted;
    machine::reset();
  }
}

void note(core::Status status, volatile ControlBlock& control) {
  if (status != core::Status::ok) {
    control.last_status = static_cast<std::uint32_t>(status);
  }
}

FrontEnd& wired_front_end() {
  static machine::BoardWires wires;
  static I2cBus bus(wires);
  static HumiditySensor air(bus, kAirPart);
  static HumiditySensor core(bus, kCorePart);
  static machine::Uart slab_line(1, kSlabBaud);
  static SlabProbe slab(slab_line, SlabProbeMap{});
  static machine::SupplyInput supply_input;
  static SupplyMonitor supply(supply_input, kSupplyScale);
  static machine::LevelPin lid_pin(kLidPin);
  static machine::LevelPin tilt_pin(kTiltPin);
  static Contact lid(lid_pin, kLidWiring);
  static Contact tilt(tilt_pin, kTiltWiring);
  static WiredFrontEnd front_end({air, core, slab, supply, lid, tilt});
  return front_end;
}

FrontEnd& scripted_front_end(const volatile ControlBlock& control) {
  static ScriptedFrontEnd front_end(control);
  return front_end;
}

machine::Uart& line_to_master(std::uint32_t baud) {
  static machine::Uart line(0, baud);
  static machine::DriverEnablePin driver;
  static machine::LineTimer timer;
  static TransmitGate gate(driver, timer, baud);
  machine::LineTimer::serve(gate);
  line.set_gate(gate);
  return line;
}

void hang_when_asked(volatile ControlBlock& control) {
  if (control.hangs_taken != control.hangs_wanted) {
    control.hangs_taken = control.hangs_wanted;
    for (;;) {
      machine::sleep();  // interrupts go on as in a loop that waits for what never comes
    }
  }
}

[[noreturn]] void run() {
  volatile ControlBlock& control = machine::control_block();
  control.state = static_cast<std::uint32_t>(BoxState::off);  // before the start can be seen
  control.machine_starts = control.machine_starts + 1;
  control.driver_releases = 0;
  machine::start_watchdog(or_default(control.watchdog_ms, kDefaultWatchdogMs));
  static machine::StopAtPowerLoss power;
  static FlashModel flash(part_from(control), power);
  manufacture_when_new(flash);
  static core::ProbeBox box(flash, settings_from(control));
  machine::start_ticks();
  const core::Status started = box.start();
  note(started, control);
  if (started != core::Status::ok) {
    control.state = static_cast<std::uint32_t>(BoxState::start_failed);
    for (;;) {
      machine::sleep();  // until the watchdog tries again
    }
  }
  const std::uint32_t baud = control.baud == kSlowBaud ? kSlowBaud : kDefaultBaud;
  machine::Uart& line = line_to_master(baud);
  static BoxLoop loop(box, line,
                      control.wired != 0 ? wired_front_end() : scripted_front_end(control),
                      {.settle_ms = or_default(control.settle_ms, LoopTiming{}.settle_ms),
                       .reply_after_ms = reply_after_ms_from_baud(baud)});
  // Samples that an earlier start was asked for and power took are not taken later.
  std::uint32_t samples_ordered = control.samples_wanted;
  control.state = static_cast<std::uint32_t>(BoxState::running);
  for (;;) {
    const std::uint64_t now_ms = machine::ticks_ms();
    note(loop.step(now_ms), control);
    take_orders(control, loop, samples_ordered);
    hang_when_asked(control);
    control.ticks_ms = static_cast<std::uint32_t>(now_ms);
    control.bytes_received = line.bytes_received();
    control.bytes_dropped = line.bytes_dropped();
    machine::feed_watchdog();  // here alone: after a whole round
    machine::sleep();
  }
}

}  // namespace
}  // namespace firmware::target

int main() { firmware::target::run(); }
