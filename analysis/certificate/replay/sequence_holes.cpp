#include "analysis/certificate/replay/sequence_holes.hpp"

#include <algorithm>

#include "analysis/base/clock_map.hpp"

namespace analysis::certificate {

using base::Failure;

namespace {

// Whether the boot surely began inside the period, so that its sequence 1 belongs to it.
bool boot_began_after(base::UtcMicros from, const Reading& reading) {
  const double ticks_us = 1e3 * static_cast<double>(reading.record.ticks_ms);
  const double since_us = static_cast<double>((reading.dated.at - from).count()) -
                          static_cast<double>(reading.dated.error.count());
  return ticks_us * (1.0 + base::kMaxClockRateError) < since_us;
}

}  // namespace

SequenceHoles::SequenceHoles(const std::vector<GapFacts>& declared, base::UtcMicros period_from)
    : period_from_(period_from) {
  std::map<BootOfBox, std::vector<Range>> ranges_by_boot;
  for (const GapFacts& gap : declared) {
    ranges_by_boot[{gap.box_id, gap.boot}].push_back({gap.first_sequence, gap.last_sequence});
  }
  for (auto& [boot, ranges] : ranges_by_boot) {
    std::ranges::sort(ranges, {}, &Range::first);
    std::vector<Range>& joined = declared_[boot];
    for (const Range& range : ranges) {
      if (joined.empty() || range.first > joined.back().last) {
        joined.push_back(range);
      } else {
        joined.back().last = std::max(joined.back().last, range.last);
      }
    }
  }
}

base::Result<void, Fault> SequenceHoles::add(const Reading& reading, std::uint64_t records_before) {
  constexpr std::uint64_t kFirstRecordLine = 2;
  const base::RecordId& id = reading.record.id;
  const BootOfBox boot{reading.box_id, id.boot};
  const auto [last, is_new] = last_sequence_.try_emplace(boot, id.sequence);
  if (!is_new && id.sequence <= last->second) {
    return Failure{Fault{"sequence " + std::to_string(id.sequence) + " comes after " +
                         std::to_string(last->second) + " of the same box and boot"}};
  }
  const bool numbered = id.boot != 0;
  const std::uint64_t line_number = records_before + kFirstRecordLine;
  if (numbered && !is_new) {
    note_hole(boot, last->second + 1, id.sequence - 1, line_number);
  } else if (numbered && boot_began_after(period_from_, reading)) {
    note_hole(boot, 1, id.sequence - 1, line_number);
  }
  last->second = id.sequence;
  return {};
}

void SequenceHoles::note_hole(const BootOfBox& boot, std::int64_t first, std::int64_t last,
                              std::uint64_t line_number) {
  const auto leave = [&](std::int64_t from, std::int64_t to) {
    if (from > to) {
      return;
    }
    undeclared_.push_back({boot.first, boot.second, from, to, "missing"});
    if (!first_text_) {
      first_text_ = "line " + std::to_string(line_number) + ": box " + boot.first + ", boot " +
                    std::to_string(boot.second) + ": sequence " + std::to_string(from) + " to " +
                    std::to_string(to) + " is left out and not declared as lost";
    }
  };
  if (const auto known = declared_.find(boot); first <= last && known != declared_.end()) {
    auto lost = std::ranges::lower_bound(known->second, first, {}, &Range::last);
    for (; lost != known->second.end() && lost->first <= last; ++lost) {
      leave(first, lost->first - 1);
      first = lost->last + 1;
    }
  }
  leave(first, last);
}

}  // namespace analysis::certificate
