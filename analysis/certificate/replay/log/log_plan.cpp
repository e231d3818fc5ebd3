#include "analysis/certificate/replay/log/log_plan.hpp"

#include <algorithm>
#include <cmath>

#include "analysis/certificate/replay/line_reader.hpp"
#include "analysis/evidence/merkle_tree.hpp"

namespace analysis::certificate {

using base::Failure;
using base::Result;
using evidence::ExtractExchange;
using evidence::ExtractHash;
using evidence::ExtractLine;
using evidence::ExtractRecord;
using evidence::ExtractRun;
using evidence::LoggedGap;

namespace {

// Beyond what any clock shows; within it no sum of the dating leaves 64 bits.
constexpr std::int64_t kMostMicros = 253'402'300'799'999'999;  // the end of the year 9999
constexpr double kMostSteps = 4e18;                            // microseconds

Failure<Fault> refused(const LogPlace& place, const std::string& what) {
  return Failure{Fault{text_of(place) + ": " + what}};
}

std::string name_of_record(const std::string& box_id, const base::RecordId& id) {
  return "record " + std::to_string(id.sequence) + " of box " + box_id + ", boot " +
         std::to_string(id.boot);
}

bool is_within(std::int64_t value, std::int64_t most) { return value >= -most && value <= most; }

bool is_believable(const base::ClockExchange& at) {
  return is_within(at.ticks_ms, kMostTicks) && is_within(at.utc.value, kMostMicros) &&
         at.error.count() >= 0 && at.error.count() <= kMostMicros;
}

// Whether the clocks of a boot wander by more than any sum of the dating can hold.
bool wander_too_far(const std::vector<PlannedExchange>& exchanges) {
  double wandered = 0.0;
  for (std::size_t i = 1; i < exchanges.size(); ++i) {
    const base::ClockExchange& before = exchanges[i - 1].exchange;
    const base::ClockExchange& at = exchanges[i].exchange;
    wandered += std::abs(static_cast<double>((at.utc - before.utc).count())) +
                1e3 * static_cast<double>(at.ticks_ms - before.ticks_ms) +
                static_cast<double>(at.error.count());
  }
  return wandered > kMostSteps;
}

// What of a record stands in the readings file.
base::Record as_in_file(base::Record record) {
  for (std::size_t channel = 0; channel < base::kMaxChannels; ++channel) {
    if (record.statuses[channel] != base::ChannelStatus::ok) {
      record.raw_counts[channel] = 0;
    }
  }
  return record;
}

}  // namespace

std::string text_of(const LogPlace& place) {
  return "log file, line " + std::to_string(place.line) + ", entry " + std::to_string(place.entry);
}

Result<LogPlan, Fault> LogPlan::read(const ByteSource& extract, std::uint64_t most_records) {
  LogPlan plan;
  LineReader lines(extract);
  LogPlace place{1, 0};
  for (;; ++place.line) {
    const auto text = lines.next();
    if (!text) {
      return refused(place, text.error().text);
    }
    if (!text.value()) {
      break;
    }
    if (place.line == 1) {
      const auto size = evidence::extract_size_from(*text.value());
      if (!size) {
        return refused(place, size.error().text);
      }
      plan.size_ = size.value();
      continue;
    }
    const auto line = evidence::extract_line_from(*text.value());
    if (!line) {
      return refused(place, line.error().text);
    }
    const std::uint64_t entries = evidence::entries_of(line.value());
    if (entries > plan.size_ - place.entry) {
      return refused(place, "stands for " + std::to_string(entries) + " entries, " +
                                std::to_string(plan.size_ - place.entry) + " are left of the " +
                                std::to_string(plan.size_));
    }
    if (auto added = plan.add(line.value(), place, most_records); !added) {
      return Failure{added.error()};
    }
    place.entry += entries;
  }
  if (place.line == 1 || place.entry != plan.size_) {
    return refused(
        place, "the file ends here, expected " + std::to_string(plan.size_) + " entries: cut off");
  }
  const auto sorted = plan.sort_boots();
  return sorted ? Result<LogPlan, Fault>(std::move(plan)) : Failure{sorted.error()};
}

void LogPlan::add_hash(const evidence::Sha256& hash) {
  hashes_.push_back(hash);
  of_reading_.push_back(false);
}

Result<void, Fault> LogPlan::add(const ExtractLine& line, const LogPlace& place,
                                 std::uint64_t most_records) {
  const auto* hash = std::get_if<ExtractHash>(&line);
  lines_.push_back({hash == nullptr ? 0 : hash->level, std::holds_alternative<ExtractRun>(line),
                    evidence::entries_of(line)});
  if (hash != nullptr) {
    const std::uint64_t span = lines_.back().entries;
    if (place.entry % span != 0) {
      return refused(place, "a hash over " + std::to_string(span) +
                                " entries begins at a multiple of that number");
    }
    hidden_entries_ += span;
    add_hash(hash->hash);
  } else if (const auto* run = std::get_if<ExtractRun>(&line)) {
    return add_run(*run, place, most_records);
  } else if (const auto* record = std::get_if<ExtractRecord>(&line)) {
    return add_record(record->leaf, place);
  } else if (const auto* at = std::get_if<ExtractExchange>(&line)) {
    if (!is_believable(at->exchange)) {
      return refused(place, "a time or error that no clock shows");
    }
    ++exchange_count_;
    add_hash(evidence::leaf_hash_from_bytes(
        evidence::leaf_from_exchange(at->box_id, at->boot, at->exchange)));
    boots_[{at->box_id, at->boot}].exchanges.push_back({at->exchange, place});
  } else if (const auto* gap = std::get_if<LoggedGap>(&line)) {
    add_hash(evidence::leaf_hash_from_bytes(evidence::leaf_from_gap(*gap)));
    boots_[{gap->box_id, gap->boot}].gaps.push_back({*gap, place});
  }
  return {};
}

Result<void, Fault> LogPlan::add_run(const ExtractRun& run, const LogPlace& place,
                                     std::uint64_t most_records) {
  // Before memory is taken for what a damaged number says.
  if (run.count > most_records || run_records_ > most_records - run.count) {
    return refused(place, "more records than the " + std::to_string(most_records) +
                              " readings that were signed");
  }
  run_records_ += run.count;
  boots_[{run.box_id, run.boot}].records.push_back(
      {run.first_sequence, run.first_sequence + static_cast<std::int64_t>(run.count) - 1, place,
       hashes_.size()});
  hashes_.resize(hashes_.size() + run.count);
  of_reading_.resize(hashes_.size());
  return {};
}

Result<void, Fault> LogPlan::add_record(const std::string& leaf, const LogPlace& place) {
  const auto logged = evidence::record_from_leaf(leaf);
  if (!logged) {
    return refused(place, logged.error().text);
  }
  const base::Record& record = logged.value().record;
  if (!is_within(record.ticks_ms, kMostTicks)) {
    return refused(place, "ticks that no clock shows");
  }
  PlannedBoot& boot = boots_[{logged.value().box_id, record.id.boot}];
  boot.records.push_back({record.id.sequence, record.id.sequence, place, hashes_.size(),
                          static_cast<std::uint32_t>(boot.wholes.size()), false});
  boot.wholes.push_back(record);
  add_hash(evidence::leaf_hash_from_bytes(leaf));
  return {};
}

Result<void, Fault> LogPlan::sort_boots() {
  for (auto& [name, boot] : boots_) {
    std::ranges::sort(boot.records, {}, &PlannedRecords::first_sequence);
    for (std::size_t i = 1; i < boot.records.size(); ++i) {
      const PlannedRecords& before = boot.records[i - 1];
      const PlannedRecords& next = boot.records[i];
      if (next.first_sequence <= before.last_sequence) {
        return refused(next.place, name_of_record(name.first, {name.second, next.first_sequence}) +
                                       " stands in line " + std::to_string(before.place.line) +
                                       " too");
      }
    }
    std::ranges::stable_sort(boot.exchanges, {},
                             [](const PlannedExchange& at) { return at.exchange.ticks_ms; });
    for (std::size_t i = 1; i < boot.exchanges.size(); ++i) {
      if (boot.exchanges[i].exchange.ticks_ms == boot.exchanges[i - 1].exchange.ticks_ms) {
        return refused(boot.exchanges[i].place,
                       "a clock exchange of the same ticks stands in line " +
                           std::to_string(boot.exchanges[i - 1].place.line) + " too");
      }
    }
    if (wander_too_far(boot.exchanges)) {
      return refused(boot.exchanges.back().place, "the clock exchanges of box " + name.first +
                                                      ", boot " + std::to_string(name.second) +
                                                      " are further apart than any clock shows");
    }
  }
  return {};
}

Result<void, Fault> LogPlan::take(const Reading& reading) {
  const base::RecordId& id = reading.record.id;
  const auto boot = boots_.find({reading.box_id, id.boot});
  const std::string name = name_of_record(reading.box_id, id);
  if (boot == boots_.end()) {
    return Failure{Fault{name + " is none that the log file names: not logged, or added"}};
  }
  auto& records = boot->second.records;
  const auto found =
      std::ranges::lower_bound(records, id.sequence, {}, &PlannedRecords::last_sequence);
  if (found == records.end() || found->first_sequence > id.sequence) {
    return Failure{Fault{name + " is none that the log file names: not logged, or added"}};
  }
  const std::size_t index =
      found->first_hash + static_cast<std::size_t>(id.sequence - found->first_sequence);
  if (!found->whole) {
    hashes_[index] =
        evidence::leaf_hash_from_bytes(evidence::leaf_from_record(reading.box_id, reading.record));
  } else if (as_in_file(boot->second.wholes[*found->whole]) != reading.record) {
    return Failure{Fault{name + " is not the one that was logged (" + text_of(found->place) + ")"}};
  }
  found->in_readings = true;
  of_reading_[index] = true;
  return {};
}

std::optional<std::string> LogPlan::first_missing() const {
  const PlannedRecords* first = nullptr;
  std::string text;
  for (const auto& [name, boot] : boots_) {
    for (const PlannedRecords& records : boot.records) {
      for (std::int64_t s = records.first_sequence; !records.whole && s <= records.last_sequence;
           ++s) {
        const auto index =
            records.first_hash + static_cast<std::size_t>(s - records.first_sequence);
        if (of_reading_[index]) {
          continue;
        }
        if (first == nullptr || records.place.entry < first->place.entry) {
          first = &records;
          const std::uint64_t at = static_cast<std::uint64_t>(s - records.first_sequence);
          text = text_of({records.place.line, records.place.entry + at}) + ": " +
                 name_of_record(name.first, {name.second, s}) +
                 " was logged and is not in the readings";
        }
        break;
      }
    }
  }
  return first == nullptr ? std::nullopt : std::optional(text);
}

void LogPlan::visit_parts(const std::function<void(const Part&)>& visitor) const {
  std::uint64_t entry = 0;
  std::size_t index = 0;
  for (const Line& line : lines_) {
    const std::uint64_t parts = line.is_run ? line.entries : 1;
    for (std::uint64_t part = 0; part < parts; ++part, ++index) {
      visitor({entry + part, line.level, &hashes_[index], of_reading_[index]});
    }
    entry += line.entries;
  }
}

}  // namespace analysis::certificate
