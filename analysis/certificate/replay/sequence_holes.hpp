// Finds sequence numbers that never came, so that a row left out of the readings shows. Pure; one
// is used by one thread; memory grows with the number of boots and holes.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "analysis/certificate/facts.hpp"
#include "analysis/certificate/readings_file.hpp"

namespace analysis::certificate {

class SequenceHoles {
 public:
  // `declared`: lost records that are known. A boot that began after `period_from` starts at 1.
  SequenceHoles(const std::vector<GapFacts>& declared, base::UtcMicros period_from);

  // The next reading; `records_before` of the file, for the line number. Refuses a sequence that
  // does not increase within its box and boot. Boot 0 (imports) is not numbered without holes.
  base::Result<void, Fault> add(const Reading& reading, std::uint64_t records_before);

  // Holes that no declared loss covers, with reason "missing".
  [[nodiscard]] const std::vector<GapFacts>& undeclared() const { return undeclared_; }
  // The first of them as one line with the number of the line after it; nullopt when none.
  [[nodiscard]] const std::optional<std::string>& first_text() const { return first_text_; }

 private:
  using BootOfBox = std::pair<std::string, std::uint32_t>;
  struct Range {
    std::int64_t first;
    std::int64_t last;
  };
  void note_hole(const BootOfBox& boot, std::int64_t first, std::int64_t last,
                 std::uint64_t line_number);

  base::UtcMicros period_from_;
  std::map<BootOfBox, std::vector<Range>> declared_;  // increasing, disjoint
  std::map<BootOfBox, std::int64_t> last_sequence_;
  std::vector<GapFacts> undeclared_;
  std::optional<std::string> first_text_;
};

}  // namespace analysis::certificate
