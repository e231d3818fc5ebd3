// Expectations of what was measured.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "tests/scenarios/runner/expectation_kinds.hpp"

namespace scenarios {
namespace {

constexpr double kSecondsPerHour = 3600.0;
constexpr double kHalfOfLastDigit = 0.0005 + 1e-9;

std::string expect_records(WordCursor& words, CaseOutcome& outcome) {
  words.expect("complete");
  words.expect_end();
  std::string fault;
  for (std::size_t box = 0; box < outcome.scenario_case().scenario.boxes.size(); ++box) {
    const RecordTally& tally = outcome.records_of(box);
    if (!tally.missing.empty() || tally.extra != 0 || tally.different != 0 || tally.stored == 0) {
      fault += "box " + std::to_string(box + 1) + ": " + std::to_string(tally.stored) +
               " stored, " + std::to_string(tally.missing.size()) + " missing, " +
               std::to_string(tally.extra) + " twice or never taken, " +
               std::to_string(tally.different) + " different; ";
    }
  }
  return found(words, fault.empty(), fault);
}

std::string expect_exact_gaps(CaseOutcome& outcome) {
  std::string fault;
  std::size_t lost = 0;
  for (std::size_t box = 0; box < outcome.scenario_case().scenario.boxes.size(); ++box) {
    const RecordTally& tally = outcome.records_of(box);
    const auto gaps = outcome.gaps_of(box);
    lost += gaps.size();
    const bool counted = outcome.lost_in_box(box) == gaps.size();
    if (tally.missing != gaps || !counted || tally.extra != 0 || tally.different != 0) {
      fault += "box " + std::to_string(box + 1) + ": " + std::to_string(tally.missing.size()) +
               " missing, " + std::to_string(gaps.size()) + " in gaps, " +
               std::to_string(outcome.lost_in_box(box)) + " lost as the box counts, " +
               std::to_string(tally.extra) + " twice or never taken, " +
               std::to_string(tally.different) + " different; ";
    }
  }
  return fault.empty() && lost == 0 ? "nothing is lost" : fault;
}

std::string expect_gaps(WordCursor& words, CaseOutcome& outcome) {
  if (words.take_if("exact")) {
    words.expect_end();
    const std::string fault = expect_exact_gaps(outcome);
    return found(words, fault.empty(), fault);
  }
  std::size_t records = 0;
  for (std::size_t box = 0; box < outcome.scenario_case().scenario.boxes.size(); ++box) {
    records += outcome.gaps_of(box).size();
  }
  return compared(words, static_cast<double>(records), "records in gaps");
}

std::string expect_dwell(WordCursor& words, CaseOutcome& outcome) {
  const UtcHours dwell = outcome.dwell();
  if (!words.take_if("as")) {
    return compared(words, dwell.hours, "h", dwell.error_hours);
  }
  const bool undisturbed =
      words.one_of(std::array<std::string_view, 2>{"undisturbed", "recorded"}) == 0;
  words.expect_end();
  const double wanted = undisturbed ? outcome.dwell_undisturbed() : outcome.dwell_as_recorded();
  // Both ends of a run may be off by the error of their dates.
  const bool holds = std::abs(dwell.hours - wanted) <= 2.0 * dwell.error_hours && wanted > 0.0;
  return found(words, holds,
               text_of(dwell.hours) + " h instead of " + text_of(wanted) + " h, dates within " +
                   text_of(dwell.error_hours * kSecondsPerHour) + " s");
}

std::string expect_dates(WordCursor& words, CaseOutcome& outcome) {
  const DateTally& dates = outcome.dates();
  if (!words.take_if("within")) {
    return compared(words, dates.largest_s, "s from the true time");
  }
  words.expect("error");
  words.expect_end();
  const bool holds = dates.dated > 0 && dates.beyond_error == 0;
  return found(words, holds,
               std::to_string(dates.dated) + " of " + std::to_string(dates.stored) + " dated, " +
                   std::to_string(dates.beyond_error) + " beyond their error, the worst " +
                   text_of(dates.largest_s) + " s off; largest error stated " +
                   text_of(dates.largest_error_s) + " s; " + dates.worst);
}

std::string expect_undated(WordCursor& words, CaseOutcome& outcome) {
  return compared(words, static_cast<double>(outcome.undated()), "undated records");
}

std::string expect_quality(WordCursor& words, CaseOutcome& outcome) {
  const std::string quality = words.word("a quality");
  words.expect("of");
  const auto& values = outcome.exported(words.word("a channel"));
  const auto count = std::count_if(values.begin(), values.end(), [&](const ExportedValue& value) {
    return value.quality == quality;
  });
  std::map<std::string, int> all;
  for (const ExportedValue& value : values) {
    ++all[value.quality];
  }
  std::string shares;
  for (const auto& [name, number] : all) {
    shares += " " + name + " " + std::to_string(number);
  }
  const double share =
      values.empty() ? 0.0 : static_cast<double>(count) / static_cast<double>(values.size());
  return compared(words, share, "of all," + shares);
}

std::string expect_value(WordCursor& words, CaseOutcome& outcome) {
  words.expect("of");
  const auto& values = outcome.exported(words.word("a channel"));
  words.expect("from");
  const auto from = outcome.start() + words.duration();
  words.expect("to");
  const auto to = outcome.start() + words.duration();
  const Comparison comparison = read_comparison(words);
  int seen = 0;
  std::string wrong;
  for (const ExportedValue& value : values) {
    if (value.at < from || value.at > to || !value.value) {
      continue;
    }
    ++seen;
    if (!comparison.holds(*value.value, kHalfOfLastDigit) && wrong.empty()) {
      wrong = text_of(*value.value) + " at " + analysis::base::rfc3339_from_utc(value.at);
    }
  }
  return found(words, seen > 0 && wrong.empty(), seen == 0 ? "no good value" : wrong);
}

std::string expect_truth(WordCursor& words, CaseOutcome& outcome) {
  words.expect("of");
  const std::string channel_id = words.word("a channel");
  words.expect("within");
  const double within = words.real(0.0, kAnyNumber);
  words.expect_end();
  std::vector<ExportedValue> good;
  std::vector<analysis::base::UtcMicros> times;
  for (const ExportedValue& value : outcome.exported(channel_id)) {
    if (value.value && value.at <= outcome.end()) {
      good.push_back(value);
      times.push_back(value.at);
    }
  }
  const auto truth = outcome.truth_of(channel_id, times);
  double worst = 0.0;
  std::string text = "no good value";
  for (std::size_t i = 0; i < truth.size(); ++i) {
    const double away = std::abs(*good[i].value - truth[i]);
    if (i == 0 || away > worst) {
      worst = away;
      text = text_of(*good[i].value) + " where " + text_of(truth[i]) + " is true, at " +
             analysis::base::rfc3339_from_utc(good[i].at);
    }
  }
  return found(words, !truth.empty() && worst <= within, text);
}

// How often good values change from one side of a limit to the other.
std::string expect_crossings(WordCursor& words, CaseOutcome& outcome) {
  words.expect("of");
  const auto& values = outcome.exported(words.word("a channel"));
  words.expect("over");
  const double limit = words.real(-kAnyNumber, kAnyNumber);
  int count = 0;
  std::optional<bool> was_above;
  for (const ExportedValue& value : values) {
    if (value.value) {
      const bool above = *value.value > limit;
      count += was_above && *was_above != above ? 1 : 0;
      was_above = above;
    }
  }
  return compared(words, count, "crossings");
}

}  // namespace

const std::array<ExpectationKind, kRecordKinds>& record_expectations() {
  static constexpr std::array<ExpectationKind, kRecordKinds> kKinds{
      ExpectationKind{"records", expect_records},    ExpectationKind{"gaps", expect_gaps},
      ExpectationKind{"dwell", expect_dwell},        ExpectationKind{"dates", expect_dates},
      ExpectationKind{"undated", expect_undated},    ExpectationKind{"quality", expect_quality},
      ExpectationKind{"value", expect_value},        ExpectationKind{"truth", expect_truth},
      ExpectationKind{"crossings", expect_crossings}};
  return kKinds;
}

}  // namespace scenarios
