#include "analysis/certificate/replay/log_check.hpp"

#include <algorithm>

#include "analysis/certificate/replay/log/sequence_findings.hpp"
#include "analysis/evidence/merkle_tree.hpp"

namespace analysis::certificate {

using base::Failure;
using base::Result;

namespace {

constexpr std::size_t kNamedEnds = 3;

std::string and_more(std::uint64_t count) {
  return count > 1 ? " (and " + std::to_string(count - 1) + " more)" : "";
}

std::string dated_text(const base::DatedTime& at) {
  return base::rfc3339_from_utc(at.at) + " +-" + std::to_string(at.error.count() / 1000) + " ms";
}

}  // namespace

LogCheck::LogCheck(const ReadCertificate& certificate, const VerifyInput& input)
    : certificate_(certificate), input_(input) {
  heads_ = compared_heads_from(certificate, input, lines_);
  if (const auto opened = open(); !opened) {
    plan_.reset();
    add(LineKind::failed, opened.error().text);
  }
}

Result<void, Fault> LogCheck::open() {
  const CertificateFacts& facts = certificate_.facts;
  if (!facts.log) {
    return Failure{Fault{"log: the certificate names no log, so a log file proves nothing of it"}};
  }
  const auto checkpoint =
      checkpoint_for(certificate_, input_, "log.checkpoint", facts.log->checkpoint + "\n");
  if (!checkpoint) {
    return Failure{checkpoint.error()};
  }
  checkpoint_ = checkpoint.value();
  auto plan = LogPlan::read(input_.log, static_cast<std::uint64_t>(facts.readings.records));
  if (!plan) {
    return Failure{plan.error()};
  }
  if (plan.value().size() != checkpoint_->head.size) {
    return Failure{Fault{"log file, line 1: of a log of " + std::to_string(plan.value().size()) +
                         " entries, the certificate's checkpoint is of one of " +
                         std::to_string(checkpoint_->head.size)}};
  }
  plan_ = std::move(plan).value();
  for (const auto& [name, boot] : plan_->boots()) {
    std::vector<base::ClockExchange> exchanges;
    for (const PlannedExchange& at : boot.exchanges) {
      exchanges.push_back(at.exchange);
    }
    clocks_.emplace(name, base::clock_map_for_history(exchanges, name.second, facts.period.from));
  }
  return {};
}

void LogCheck::take(std::uint64_t line_number, std::string_view line) {
  const auto reading = reading_from_line(line);
  if (!plan_ || !reading) {
    return;
  }
  const std::string where = "readings, line " + std::to_string(line_number) + ": ";
  if (const auto taken = plan_->take(reading.value()); !taken) {
    ++bad_records_;
    first_bad_record_ = first_bad_record_.value_or(where + taken.error().text);
  } else if (const auto dated = check_date(reading.value()); !dated) {
    ++bad_dates_;
    first_bad_date_ = first_bad_date_.value_or(where + dated.error().text);
  }
}

Result<void, Fault> LogCheck::check_date(const Reading& reading) const {
  if (reading.record.ticks_ms > kMostTicks) {
    return Failure{Fault{"ticks that no clock shows"}};
  }
  const auto clock = clocks_.find({reading.box_id, reading.record.id.boot});
  const auto dated =
      clock == clocks_.end() ? std::nullopt : clock->second.utc_from_ticks(reading.record.ticks_ms);
  if (!dated) {
    return Failure{Fault{"the log file shows no clock exchange that dates it"}};
  }
  Reading recomputed = reading;
  recomputed.dated = *dated;
  recomputed.dated.error = error_in_file(recomputed);
  if (recomputed.dated != reading.dated) {
    return Failure{Fault{"dated " + dated_text(reading.dated) +
                         ", the logged clock exchanges give " + dated_text(recomputed.dated)}};
  }
  return {};
}

std::vector<VerificationLine> LogCheck::finish(bool readings_read) {
  if (plan_ && !readings_read) {
    add(LineKind::unproved, "the log: not followed, as the readings could not be read");
  } else if (plan_) {
    report_records();
    if (!plan_->first_missing() && bad_records_ == 0) {
      rebuild();
      report_root();
      report_heads();
      report_limits();
    }
  }
  return std::move(lines_);
}

// A record of a box of the certificate that the extract shows inside the period, though it is not
// among the readings.
std::optional<std::string> LogCheck::dropped_reading() const {
  const CertificateFacts& facts = certificate_.facts;
  for (const auto& [name, boot] : plan_->boots()) {
    const bool concerned = std::ranges::any_of(facts.instruments, [&](const auto& instrument) {
      return instrument.channel.box_id == name.first;
    });
    for (const PlannedRecords& records : boot.records) {
      if (!concerned || records.in_readings) {
        continue;
      }
      const auto at = clocks_.at(name).utc_from_ticks(boot.wholes[*records.whole].ticks_ms);
      if (at && at->at >= facts.period.from && at->at <= facts.period.to) {
        return text_of(records.place) + ": a record of box " + name.first + ", boot " +
               std::to_string(name.second) + ", sequence " +
               std::to_string(records.first_sequence) + ", of " + base::rfc3339_from_utc(at->at) +
               ", inside the period, is not in the readings";
      }
    }
  }
  return std::nullopt;
}

void LogCheck::report_records() {
  if (first_bad_record_) {
    add(LineKind::failed, *first_bad_record_ + and_more(bad_records_));
  }
  if (const auto missing = plan_->first_missing()) {
    add(LineKind::failed, *missing);
  }
  if (const auto dropped = dropped_reading()) {
    add(LineKind::failed, *dropped);
  }
  if (first_bad_date_) {
    add(LineKind::failed, *first_bad_date_ + and_more(bad_dates_));
  } else if (bad_records_ == 0) {
    add(LineKind::proved, "the time and time error of every reading follow from the " +
                              std::to_string(plan_->exchange_count()) +
                              " clock exchanges that the log file shows");
  }
}

void LogCheck::rebuild() {
  evidence::MerkleTreeBuilder tree;
  std::uint64_t readings = 0;
  auto next = heads_.begin();
  const auto compare_here = [&] {
    while (next != heads_.end() && next->checkpoint.head.size < tree.size()) {
      ++next;  // it lies inside a hash
    }
    for (; next != heads_.end() && next->checkpoint.head.size == tree.size(); ++next) {
      next->reached = true;
      next->same = next->checkpoint.head.root == tree.root();
      next->readings_below = readings;
    }
  };
  compare_here();
  plan_->visit_parts([&](const LogPlan::Part& part) {
    tree.add_subtree(part.level, *part.hash);
    readings += part.is_reading ? 1 : 0;
    compare_here();
  });
  rebuilt_ = {tree.size(), tree.root()};
}

void LogCheck::report_root() {
  const evidence::TreeHead& was_signed = checkpoint_->head;
  if (rebuilt_ == was_signed) {
    add(LineKind::proved,
        "the readings stand in the log of " + std::to_string(was_signed.size) +
            " entries as they are here: its root " + evidence::hex_from_digest(was_signed.root) +
            " was signed with the key " + evidence::fingerprint_of(checkpoint_->public_key));
    return;
  }
  add(LineKind::failed, "the readings and the log file lead to the root " +
                            evidence::hex_from_digest(rebuilt_.root) + ", log.checkpoint states " +
                            evidence::hex_from_digest(was_signed.root) +
                            ": a reading or an entry is not as it was logged, or the log file is "
                            "of another log");
}

void LogCheck::report_heads() {
  std::uint64_t agrees_up_to = 0;
  for (const ComparedHead& head : heads_) {
    lines_.push_back(line_from(head, certificate_, rebuilt_.size, agrees_up_to));
    if (head.same) {
      agrees_up_to = head.checkpoint.head.size;
    }
    if (head.same && head.is_independent) {
      proved_entries_ = head.checkpoint.head.size;
      proved_readings_ = head.readings_below;
    }
    const auto stated = static_cast<std::uint64_t>(certificate_.facts.log->readings_anchored);
    if (head.is_anchor && head.same && head.readings_below != stated) {
      add(LineKind::failed, "log.readings_anchored: the certificate says " +
                                std::to_string(stated) + ", below its anchor lie " +
                                std::to_string(head.readings_below));
    }
  }
}

// What stays open though all of it fits.
void LogCheck::report_limits() {
  const auto records = static_cast<std::uint64_t>(certificate_.facts.readings.records);
  if (proved_readings_ < records) {
    add(LineKind::unproved,
        std::to_string(records - proved_readings_) + " of the " + std::to_string(records) +
            " readings lie above the newest checkpoint that another hand kept or stamped (" +
            std::to_string(proved_entries_) +
            " entries): self-declared, the holder of the key can have written them anew");
  }
  const SequenceFindings sequences = sequence_findings_from(*plan_);
  if (sequences.unexplained) {
    add(LineKind::failed, *sequences.unexplained);
  }
  for (const PlannedGap& loss : sequences.explaining) {
    if (loss.place.entry >= proved_entries_) {
      add(LineKind::unproved, text_of(loss.place) + ": that sequence " +
                                  std::to_string(loss.gap.first_sequence) + " to " +
                                  std::to_string(loss.gap.last_sequence) + " of box " +
                                  loss.gap.box_id + ", boot " + std::to_string(loss.gap.boot) +
                                  " was lost was noted above that checkpoint: self-declared");
    }
  }
  for (const std::string& box : sequences.imports) {
    add(LineKind::unproved, "that no row of the imported box " + box +
                                " is left out: its rows have no numbering, and any of the " +
                                std::to_string(plan_->hidden_entries()) +
                                " entries shown as hashes only could be one");
  }
  if (!sequences.open_ends.empty()) {
    std::string ends;
    for (std::size_t i = 0; i < std::min(kNamedEnds, sequences.open_ends.size()); ++i) {
      ends += (i == 0 ? "" : "; ") + sequences.open_ends[i];
    }
    if (sequences.open_ends.size() > kNamedEnds) {
      ends += "; " + std::to_string(sequences.open_ends.size() - kNamedEnds) + " more";
    }
    add(LineKind::unproved,
        "that no further record was logged (" + ends +
            "): an entry shown as a hash only could be one; time without readings counts as "
            "unknown beyond the longest interval");
  }
  for (const auto& [name, boot] : plan_->boots()) {
    for (std::size_t i = 1; name.second != 0 && i < boot.exchanges.size(); ++i) {
      if (boot.exchanges[i].place.entry < boot.exchanges[i - 1].place.entry) {
        add(LineKind::unproved, text_of(boot.exchanges[i - 1].place) +
                                    ": a clock exchange was logged after a later one of its boot; "
                                    "a box gives them in order");
        break;
      }
    }
  }
  add(LineKind::note, std::to_string(plan_->hidden_entries()) + " of the " +
                          std::to_string(rebuilt_.size) +
                          " entries are shown as hashes only, which are to be other boxes and "
                          "periods, notes and events; the store alone can show that");
}

}  // namespace analysis::certificate
