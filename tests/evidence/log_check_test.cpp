#include "analysis/certificate/replay/log_check.hpp"

#include "analysis/certificate/replay/log/sequence_findings.hpp"
#include "tests/evidence/certified_site.hpp"

using namespace logged_site;
using analysis::base::Micros;

TEST_CASE("ReadingsAreProvedToBeThoseOfTheLog") {
  const Verification v = verify(good());
  INFO(lines_of(v, LineKind::failed));
  CHECK(v.status == VerificationStatus::proved);
  const std::string proved = lines_of(v, LineKind::proved);
  CHECK(says(proved, "the readings stand in the log of " + std::to_string(site().head().size) +
                         " entries as they are here"));
  CHECK(says(proved, "the time and time error of every reading follow from the"));
  CHECK(says(lines_of(v, LineKind::unproved),
             "23 of the 23 readings lie above the newest checkpoint that another hand kept or "
             "stamped (0 entries): self-declared"));
  // The boot that ended before the period did, and nothing else.
  CHECK(says(lines_of(v, LineKind::unproved), "(box box-1, boot 1 after sequence 16)"));
  CHECK(says(lines_of(v, LineKind::note), "entries are shown as hashes only"));
}

TEST_CASE("AReadingThatWasEditedDroppedAddedOrBackDatedIsFoundThoughSignedAnew") {
  std::vector<Reading> edited = good().readings;
  edited[4].record.raw_counts[0] += 1;
  CHECK(says(failures(verify(signed_anew(good(), edited))),
             "a reading or an entry is not as it was logged"));
  std::vector<Reading> flags = good().readings;
  flags[4].record.flags = 1;
  CHECK(says(failures(verify(signed_anew(good(), flags))), "is not as it was logged"));

  std::vector<Reading> dropped = good().readings;
  dropped.erase(dropped.begin() + 4);
  CHECK(says(failures(verify(signed_anew(good(), dropped))),
             "record 9 of box box-1, boot 1 was logged and is not in the readings"));

  std::vector<Reading> added = good().readings;
  Reading extra = *std::ranges::find(added, analysis::base::RecordId{2, 6},
                                     [](const Reading& r) { return r.record.id; });
  extra.record.id.sequence = 7;
  extra.record.ticks_ms += 900'000;
  extra.dated.at = extra.dated.at + example::kInterval;
  added.push_back(extra);
  std::ranges::sort(added, [](const Reading& a, const Reading& b) { return a.dated < b.dated; });
  CHECK(says(failures(verify(signed_anew(good(), added))),
             "record 7 of box box-1, boot 2 is none that the log file names"));

  std::vector<Reading> back_dated = good().readings;
  for (Reading& reading : back_dated) {
    reading.dated.at = reading.dated.at + Micros{500'000};
  }
  back_dated.pop_back();  // it would be outside the period
  const std::string dates = failures(verify(signed_anew(good(), back_dated)));
  CHECK(says(dates, "was logged and is not in the readings"));
  CHECK(says(dates, "readings, line 2: dated 2026-03-01T07:00:00.500Z +-"));
  std::vector<Reading> surer = good().readings;
  surer[3].dated.error = Micros{1000};
  CHECK(says(failures(verify(signed_anew(good(), surer))), "readings, line 5: dated"));
}

TEST_CASE("ReadingsInAnotherOrderAreRefused") {
  auto lines = lines_in(good().readings_text);
  std::swap(lines[5], lines[6]);
  Certified swapped = good();
  swapped.readings_text = joined(lines);
  const Verification v = verify(swapped);
  CHECK(says(failures(v), "not after the record before it"));
  CHECK(says(lines_of(v, LineKind::unproved), "not followed, as the readings could not be read"));
}

// The holder of the key leaves a reading out, declares it lost and hides its entry.
TEST_CASE("AHiddenRecordInsideTheSequencesIsFound") {
  std::vector<Reading> dropped = good().readings;
  dropped.erase(dropped.begin() + 4);
  const std::string leaf =
      analysis::evidence::hex_from_digest(analysis::evidence::leaf_hash_from_bytes(
          analysis::evidence::leaf_from_record("box-1", good().readings[4].record)));
  const std::string hidden =
      replaced(good().log_text, "records box-1 1 9 1\n", "hash 0 " + leaf + "\n");
  const Verification v = verify(with_log(signed_anew(good(), dropped), hidden));
  CHECK(says(lines_of(v, LineKind::proved), "the readings stand in the log"));
  CHECK(says(failures(v),
             "box box-1, boot 1: sequence 9 to 9 is neither shown nor noted as lost in the log"));
}

// The period's first reading is left out; a log file as the program writes it shows the record
// before the readings, which then lies inside the period.
TEST_CASE("ARecordAtTheEndsOfTheReadingsIsFound") {
  for (const bool first : {true, false}) {
    std::vector<Reading> dropped = good().readings;
    dropped.erase(first ? dropped.begin() : dropped.end() - 1);
    const Reading& gone = first ? good().readings.front() : good().readings.back();
    const std::string shown = "record " + [&] {
      const std::string leaf = analysis::evidence::leaf_from_record("box-1", gone.record);
      return analysis::evidence::hex_from_bytes(
          {reinterpret_cast<const std::uint8_t*>(leaf.data()), leaf.size()});
    }() + "\n";
    const std::string run = "records box-1 " + std::to_string(gone.record.id.boot) + " " +
                            std::to_string(gone.record.id.sequence) + " 1\n";
    const Verification v =
        verify(with_log(signed_anew(good(), dropped), replaced(good().log_text, run, shown)));
    CHECK(says(failures(v), "inside the period, is not in the readings"));
    CHECK(says(lines_of(v, LineKind::proved), "the readings stand in the log"));
  }
}

TEST_CASE("AnExchangeThatWasEditedDatesOtherwiseAndGivesAnotherRoot") {
  std::string edited = good().log_text;
  const std::string from = "exchange box-1 1 5405400 ";
  const std::size_t utc = edited.find(from) + from.size();
  REQUIRE(utc > from.size());
  edited[utc + 12] = edited[utc + 12] == '0' ? '1' : '0';
  const std::string said = failures(verify(with_log(good(), edited)));
  CHECK(says(said, "the logged clock exchanges give"));
  CHECK(says(said, "lead to the root"));
}

TEST_CASE("AnotherJobsLogFileIsRefused") {
  History other = history();
  for (CommitBatch& batch : other) {
    for (auto& box : batch.boxes) {
      box.box_id += "0";
    }
  }
  History differs = history();
  differs.back().boxes.back().records[0].flags = 1;  // of the other box
  const SiteStore store{differs};
  const Certified theirs = certify(store);
  CHECK(says(failures(verify(with_log(good(), theirs.log_text))), "lead to the root"));
  std::string renamed = good().log_text;
  renamed = replaced(renamed, "records box-1 ", "records box-3 ");
  CHECK(says(failures(verify(with_log(good(), renamed))), "none that the log file names"));
}

TEST_CASE("ALogFileWithoutALogInTheCertificateProvesNothing") {
  Certified without = good();
  without.declared.log.reset();
  CHECK(says(failures(verify(signed_anew(without, without.readings))),
             "the certificate names no log"));
  analysis::certificate::VerifyInput input;
  input.certificate = good().certificate;
  input.outside_key = example::key().public_key();
  input.log = analysis::certificate::byte_source_from(good().log_text);
  CHECK(says(failures(analysis::certificate::verify_certificate(input)), "without the readings"));
  input.log = {};
  input.earlier_checkpoints = {checkpoint_text(site().head())};
  CHECK(says(failures(analysis::certificate::verify_certificate(input)), "log file is needed"));
}

namespace {

// What is found of the sequences where these lines of a log file are all there is, and each record
// that they name was among the readings.
analysis::certificate::SequenceFindings findings_of(const std::vector<std::string>& lines) {
  std::uint64_t entries = 0;
  std::string text;
  std::vector<Reading> readings;
  for (const std::string& line : lines) {
    const auto read = analysis::evidence::extract_line_from(line).value();
    entries += analysis::evidence::entries_of(read);
    text += line + "\n";
    if (const auto* run = std::get_if<analysis::evidence::ExtractRun>(&read)) {
      for (std::uint64_t i = 0; i < run->count; ++i) {
        Reading reading{run->box_id, {}, {}};
        reading.record.id = {run->boot, run->first_sequence + static_cast<std::int64_t>(i)};
        readings.push_back(reading);
      }
    }
  }
  text = analysis::evidence::extract_header(entries) + "\n" + text;
  auto plan =
      analysis::certificate::LogPlan::read(analysis::certificate::byte_source_from(text), 100);
  REQUIRE(plan);
  for (const Reading& reading : readings) {
    REQUIRE(plan.value().take(reading));
  }
  return analysis::certificate::sequence_findings_from(plan.value());
}

}  // namespace

TEST_CASE("HolesBetweenShownRecordsNeedALossThatWasLogged") {
  using Ends = std::vector<std::string>;
  const auto whole = findings_of({"records b 1 1 5"});
  CHECK_FALSE(whole.unexplained);
  CHECK(whole.open_ends == Ends{"box b, boot 1 after sequence 5"});
  CHECK(findings_of({"records b 1 1 2", "records b 1 5 1"}).unexplained ==
        "box b, boot 1: sequence 3 to 4 is neither shown nor noted as lost in the log: an entry "
        "that is shown as a hash only may be that record");
  const auto partly = findings_of({"records b 1 1 2", "gap b 1 3 3 1 0", "records b 1 5 1"});
  CHECK(says(partly.unexplained.value(), "sequence 4 to 4"));
  // Losses may overlap, and one of another boot or box explains nothing.
  const auto explained =
      findings_of({"records b 1 1 2", "gap b 1 2 3 1 0", "gap b 1 3 4 2 0", "records b 1 5 1"});
  CHECK_FALSE(explained.unexplained);
  CHECK(explained.explaining.size() == 2);
  CHECK(findings_of({"records b 1 1 2", "gap b 2 3 4 1 0", "records b 1 5 1"}).unexplained);
  CHECK(findings_of({"records b 1 1 2", "gap c 1 3 4 1 0", "records b 1 5 1"}).unexplained);
  // Where a boot begins, and a boot that is not shown.
  CHECK(findings_of({"records b 1 4 2"}).open_ends ==
        Ends{"box b, boot 1 before sequence 4", "box b, boot 1 after sequence 5"});
  CHECK(findings_of({"gap b 1 1 3 1 0", "records b 1 4 2"}).open_ends.size() == 1);
  CHECK(findings_of({"records b 1 1 1", "records b 3 1 1"}).open_ends ==
        Ends{"box b, boot 1 after sequence 1", "box b, boot 3 after sequence 1",
             "box b between the boots 1 and 3"});
  CHECK(findings_of({"records b 1 1 1", "records b 2 1 1"}).open_ends.size() == 2);
  // Sequences of an import are times.
  CHECK(findings_of({"records b 0 1000 1", "records b 0 9000 1"}).open_ends.empty());
}

TEST_CASE("AnExchangeThatWasLoggedAfterALaterOneIsSaid") {
  History late = history();
  // Dates nothing otherwise: it lies on the line between its neighbours.
  late.back().boxes.push_back(
      {"box-1",
       {},
       {{2,
         {1'805'400 + 450'000, example::kStart + 14 * example::kInterval + Micros{450'400'000},
          Micros{20'000}}}}});
  const SiteStore store{late};
  const Verification v = verify(certify(store));
  INFO(lines_of(v, LineKind::failed));
  CHECK(v.status == VerificationStatus::proved);
  CHECK(says(lines_of(v, LineKind::unproved), "a clock exchange was logged after a later one"));
  CHECK_FALSE(says(lines_of(verify(good()), LineKind::unproved), "logged after a later one"));
}
