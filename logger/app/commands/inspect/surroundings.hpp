// What a logger needs of its machine: clock, disk, ports, permissions, a backup. Each is looked at
// by one function and judged by another that is pure, and says what to do where something is amiss.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "logger/app/backup/last_backup.hpp"
#include "logger/app/commands/job_folder.hpp"

namespace logger::app {

enum class Judgement { good, worth_a_look, wrong };

struct InspectLine {
  Judgement judgement = Judgement::good;
  std::string text;  // what was found, and after a semicolon what to do
};

struct ClockState {
  UtcMicros now;
  bool synchronised = false;
  Micros max_error{0};                 // as the kernel keeps it; of a synchronised clock only
  std::optional<UtcMicros> last_seen;  // the newest moment at which the logger was alive
};
// The kernel's own state, adjtimex(2); no other program is asked.
[[nodiscard]] ClockState read_clock(std::optional<UtcMicros> last_seen);
[[nodiscard]] InspectLine judge_clock(const ClockState& clock);

struct DiskState {
  std::uint64_t free_bytes = 0;
  std::uint64_t store_bytes = 0;
  std::int64_t records = 0;      // in the store
  double records_a_month = 0.0;  // of all boxes that are polled, 30 days
};
[[nodiscard]] store::Result<DiskState> read_disk(OpenedJob& opened);
// Bytes a record as measured in this store; where it holds too few, 53, as measured elsewhere
// (docs/performance.md).
[[nodiscard]] InspectLine judge_disk(const DiskState& disk);

struct PortState {
  std::string port;
  std::vector<std::string> boxes;
  bool is_there = false;
  bool held_by_logger = false;  // `dwellog run` works on the job, so that it was not opened
  bool is_terminal = false;
  int open_errno = 0;  // 0 = could be opened
};
// One for each serial device of the job. Opens it for a moment unless the logger runs.
[[nodiscard]] std::vector<PortState> read_ports(const OpenedJob& opened);
[[nodiscard]] InspectLine judge_port(const PortState& port);

// Who may write where only the logger should; empty = nobody.
[[nodiscard]] std::vector<InspectLine> inspect_permissions(const JobFolder& folder);

[[nodiscard]] InspectLine judge_backup(const std::optional<LastBackup>& backup, UtcMicros now,
                                       const std::string& job_dir);

}  // namespace logger::app
