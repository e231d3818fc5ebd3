// Rebuilds the root of the evidence log from a log extract and the readings of a certificate, and
// compares it with what was signed and with earlier checkpoints. What is proved, against whom, and
// what an entry that is shown as a hash only can hide: docs/evidence-log.md. Pure; used by one
// thread; memory is that of LogPlan.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/base/clock_map.hpp"
#include "analysis/certificate/replay/log/compared_heads.hpp"
#include "analysis/certificate/replay/log/log_plan.hpp"

namespace analysis::certificate {

class LogCheck {
 public:
  // Reads input.log whole. REQUIRES: the arguments outlive this.
  LogCheck(const ReadCertificate& certificate, const VerifyInput& input);

  // The next record line of the readings, whose form was found good.
  void take(std::uint64_t line_number, std::string_view line);

  // One line for each thing looked at, in the order to print. `readings_read`: every line was
  // taken; without that nothing of the log is told but faults of the extract itself.
  [[nodiscard]] std::vector<VerificationLine> finish(bool readings_read);

 private:
  [[nodiscard]] base::Result<void, Fault> open();
  [[nodiscard]] base::Result<void, Fault> check_date(const Reading& reading) const;
  [[nodiscard]] std::optional<std::string> dropped_reading() const;
  void rebuild();
  void report_records();
  void report_root();
  void report_heads();
  void report_limits();
  void add(LineKind kind, std::string text) { lines_.push_back({kind, std::move(text)}); }

  const ReadCertificate& certificate_;
  const VerifyInput& input_;
  std::optional<LogPlan> plan_;
  std::optional<evidence::Checkpoint> checkpoint_;  // of the certificate
  std::map<BootOfBox, base::ClockMap> clocks_;
  std::vector<ComparedHead> heads_;
  std::optional<std::string> first_bad_record_;
  std::optional<std::string> first_bad_date_;
  std::uint64_t bad_records_ = 0;
  std::uint64_t bad_dates_ = 0;
  evidence::TreeHead rebuilt_;
  std::uint64_t proved_entries_ = 0;  // below the largest earlier state that still holds
  std::uint64_t proved_readings_ = 0;
  std::vector<VerificationLine> lines_;
};

}  // namespace analysis::certificate
