// A log extract as a verifier holds it: what each entry of the log is, and the leaf hashes, which
// the readings fill in. Memory: 32 bytes an entry that is shown and some 60 a line of the extract.
// Pure; used by one thread.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "analysis/certificate/readings_file.hpp"
#include "analysis/certificate/verify.hpp"
#include "analysis/evidence/log/log_extract.hpp"

namespace analysis::certificate {

inline constexpr std::int64_t kMostTicks = std::int64_t{1} << 50;  // as a log extract has them

using BootOfBox = std::pair<std::string, std::uint32_t>;

// Where something stands: its line of the extract and its first entry, for messages.
struct LogPlace {
  std::uint64_t line = 0;
  std::uint64_t entry = 0;
};
// "log file, line 5, entry 17".
[[nodiscard]] std::string text_of(const LogPlace& place);

// Records that the readings must hold, or a record that is shown whole.
struct PlannedRecords {
  std::int64_t first_sequence = 0;
  std::int64_t last_sequence = 0;
  LogPlace place;
  std::size_t first_hash = 0;
  // Index in `wholes` of one that is shown whole, so that it need not be in the readings.
  std::optional<std::uint32_t> whole{};
  bool in_readings = true;  // of a whole one: whether it was among them
};

struct PlannedExchange {
  base::ClockExchange exchange;
  LogPlace place;
};
struct PlannedGap {
  evidence::LoggedGap gap;
  LogPlace place;
};

// What the extract shows of one boot.
struct PlannedBoot {
  std::vector<PlannedRecords> records;  // increasing in sequence, disjoint
  std::vector<base::Record> wholes;
  std::vector<PlannedExchange> exchanges;  // increasing in ticks
  std::vector<PlannedGap> gaps;            // in the order of the log
};

class LogPlan {
 public:
  // Takes 2^level entries from `first_entry` on; `is_reading` of a single one.
  struct Part {
    std::uint64_t first_entry = 0;
    unsigned level = 0;
    const evidence::Sha256* hash = nullptr;
    bool is_reading = false;
  };

  // Reads all of it. Refuses, with the line, what is no extract, entries that overlap or leave out
  // others, more records than `most_records`, and times that no clock shows.
  [[nodiscard]] static base::Result<LogPlan, Fault> read(const ByteSource& extract,
                                                         std::uint64_t most_records);

  // Fills in the leaf of a reading. Refuses one that the extract does not name, or of which it
  // shows something else.
  [[nodiscard]] base::Result<void, Fault> take(const Reading& reading);
  // The first record that the extract names and no reading filled in.
  [[nodiscard]] std::optional<std::string> first_missing() const;

  // In the order of the log. REQUIRES: nothing is missing.
  void visit_parts(const std::function<void(const Part&)>& visitor) const;

  [[nodiscard]] std::uint64_t size() const { return size_; }
  [[nodiscard]] std::uint64_t hidden_entries() const { return hidden_entries_; }
  [[nodiscard]] std::uint64_t exchange_count() const { return exchange_count_; }
  [[nodiscard]] const std::map<BootOfBox, PlannedBoot>& boots() const { return boots_; }

 private:
  struct Line {
    std::uint32_t level = 0;
    bool is_run = false;
    std::uint64_t entries = 0;
  };

  base::Result<void, Fault> add(const evidence::ExtractLine& line, const LogPlace& place,
                                std::uint64_t most_records);
  base::Result<void, Fault> add_run(const evidence::ExtractRun& run, const LogPlace& place,
                                    std::uint64_t most_records);
  base::Result<void, Fault> add_record(const std::string& leaf, const LogPlace& place);
  base::Result<void, Fault> sort_boots();
  void add_hash(const evidence::Sha256& hash);

  std::uint64_t size_ = 0;
  std::uint64_t hidden_entries_ = 0;
  std::uint64_t exchange_count_ = 0;
  std::uint64_t run_records_ = 0;
  std::vector<Line> lines_;
  std::vector<evidence::Sha256> hashes_;  // of the lines in order, a run's records one by one
  std::vector<bool> of_reading_;          // like hashes_: a reading filled it in
  std::map<BootOfBox, PlannedBoot> boots_;
};

}  // namespace analysis::certificate
