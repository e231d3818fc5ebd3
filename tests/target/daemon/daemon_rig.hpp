// A job with one box: the real `dwellog run` in real time against the box on the emulated machine,
// over a pseudo-terminal that keeps its name. Both can be killed and come back.
#pragma once

#include <sys/types.h>

#include <cstdint>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "firmware-sim/core/record_codec.hpp"
#include "logger/store/reading_store.hpp"
#include "tests/target/emulator.hpp"

namespace target_test {

class DaemonRig {
 public:
  // `flash_blocks`: of the box; 0 = as it comes. The box runs, the daemon does not.
  explicit DaemonRig(std::uint32_t flash_blocks);
  DaemonRig(const DaemonRig&) = delete;
  DaemonRig& operator=(const DaemonRig&) = delete;
  ~DaemonRig();

  void start_daemon();
  void kill_daemon();
  // SIGTERM; its exit status.
  int stop_daemon();

  // kill -9 of the emulator, and a new one over the same memory.
  void kill_and_restart_box();
  // Takes samples, each with a number of its own; those the box has stored for certain are in
  // numbers(). False: the power failed at one of them.
  bool take_samples(std::uint32_t count);
  [[nodiscard]] const std::vector<std::uint32_t>& numbers() const { return numbers_; }

  // Key and number of every record in the store.
  [[nodiscard]] std::map<firmware::core::RecordKey, std::uint32_t> stored() const;
  [[nodiscard]] std::vector<logger::store::Gap> gaps() const;
  // Until the store holds every number stored for certain but those up to `lost_through`.
  void wait_until_stored(std::uint32_t lost_through = 0);
  [[nodiscard]] std::string daemon_log() const;

  Emulator emulator;

 private:
  void open_terminal();
  [[nodiscard]] std::filesystem::path job() const { return folder_ / "job"; }

  std::filesystem::path folder_;
  int held_ = -1;  // keeps the pseudo-terminal open while no daemon does
  pid_t daemon_ = -1;
  std::uint32_t last_number_ = 0;
  std::vector<std::uint32_t> numbers_;
};

}  // namespace target_test
