#include "analysis/certificate/replay/log_check.hpp"

#include <catch2/catch.hpp>

#include "analysis/evidence/handover.hpp"
#include "tests/evidence/logged_site.hpp"

using namespace logged_site;
using analysis::base::Micros;
using analysis::certificate::LineKind;
using analysis::certificate::VerificationStatus;
using example::lines_of;

namespace {

const SiteStore& site() {
  static const SiteStore store{history()};
  return store;
}

// In the middle of the readings.
std::uint64_t middle() { return site().entry_of_record(2, 3) + 2; }

const Certified& good() {
  static const Certified certified = certify(site(), {.bounds = {middle()}});
  return certified;
}

bool says(const std::string& lines, const std::string& text) {
  return lines.find(text) != std::string::npos;
}

// What failed; something must have.
std::string failures(const Verification& v) {
  CHECK(v.status == VerificationStatus::not_proved);
  return lines_of(v, LineKind::failed);
}

std::vector<std::string> lines_in(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = text.find('\n', at) + 1;
    lines.push_back(text.substr(at, end - at));
    at = end;
  }
  return lines;
}

std::string joined(const std::vector<std::string>& lines) {
  std::string text;
  for (const std::string& line : lines) {
    text += line;
  }
  return text;
}

Certified with_log(Certified certified, std::string log_text) {
  certified.log_text = std::move(log_text);
  return certified;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

}  // namespace

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

TEST_CASE("AnEarlierCheckpointProvesTheReadingsBelowIt") {
  const Verification v = verify(good(), {.since = {checkpoint_text(site().head_at(middle())),
                                                   checkpoint_text(site().head())}});
  INFO(lines_of(v, LineKind::failed));
  CHECK(v.status == VerificationStatus::proved);
  CHECK(says(lines_of(v, LineKind::proved),
             "the checkpoint of " + std::to_string(middle()) +
                 " entries, dated 2026-03-01T07:00:00.000001Z: the log begins with exactly those "
                 "entries; 15 of the 23 readings lie among them"));
  CHECK_FALSE(says(lines_of(v, LineKind::unproved), "lie above the newest checkpoint"));
  const Verification half = verify(good(), {.since = {checkpoint_text(site().head_at(middle()))}});
  CHECK(says(lines_of(half, LineKind::unproved), "8 of the 23 readings lie above"));
  CHECK(says(lines_of(half, LineKind::unproved),
             "that sequence 7 to 8 of box box-1, boot 2 was lost was noted above"));
}

TEST_CASE("ACheckpointWithoutABoundaryIsSaidToNeedAnotherLogFile") {
  const Certified plain = certify(site());
  // Inside of a hash: the note and what is before it at the end of the log are hidden.
  std::uint64_t inside = 0;
  std::uint64_t entry = 0;
  for (const std::string& line : lines_in(plain.log_text)) {
    if (line.starts_with("hash ") && !line.starts_with("hash 0 ")) {
      inside = entry + 1;
    }
    const auto read = analysis::evidence::extract_line_from(line.substr(0, line.size() - 1));
    entry += read ? analysis::evidence::entries_of(read.value()) : 0;
  }
  REQUIRE(inside > 0);
  const std::string said =
      failures(verify(plain, {.since = {checkpoint_text(site().head_at(inside))}}));
  CHECK(says(said, "this log file has no boundary at entry " + std::to_string(inside) +
                       "; ask for one made with that checkpoint at hand"));
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

TEST_CASE("EachLineOfTheLogFileThatIsMissingOrMovedIsFound") {
  const auto lines = lines_in(good().log_text);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    CAPTURE(lines[i]);
    auto without = lines;
    without.erase(without.begin() + static_cast<std::ptrdiff_t>(i));
    CHECK(verify(with_log(good(), joined(without))).status == VerificationStatus::not_proved);
    auto cut = lines;
    cut.resize(i);
    CHECK(verify(with_log(good(), joined(cut))).status == VerificationStatus::not_proved);
    if (i + 1 < lines.size()) {
      auto swapped = lines;
      std::swap(swapped[i], swapped[i + 1]);
      CHECK(verify(with_log(good(), joined(swapped))).status == VerificationStatus::not_proved);
    }
  }
  CHECK(says(failures(verify(with_log(good(), joined(lines) + "x"))), "cut off"));
  CHECK(says(failures(verify(with_log(good(), ""))), "log file, line 1"));
}

TEST_CASE("EachFlippedBitOfALogFileIsFound") {
  const SiteStore small{short_history()};
  const Certified certified = certify(small, {.hours = 1});
  INFO(certified.log_text);
  REQUIRE(verify(certified).status == VerificationStatus::proved);
  const auto read = analysis::certificate::read_certificate(certified.certificate).value();
  const auto readings = lines_in(certified.readings_text);
  const auto failed_lines = [&](const std::string& log_text) {
    analysis::certificate::VerifyInput input;
    input.log = analysis::certificate::byte_source_from(log_text);
    analysis::certificate::LogCheck check(read, input);
    for (std::size_t i = 1; i < readings.size(); ++i) {
      check.take(i + 1, std::string_view(readings[i]).substr(0, readings[i].size() - 1));
    }
    return std::ranges::count(check.finish(true), LineKind::failed,
                              &analysis::certificate::VerificationLine::kind);
  };
  REQUIRE(failed_lines(certified.log_text) == 0);
  for (std::size_t byte = 0; byte < certified.log_text.size(); ++byte) {
    for (int bit = 0; bit < 8; ++bit) {
      std::string flipped = certified.log_text;
      flipped[byte] = static_cast<char>(flipped[byte] ^ (1 << bit));
      if (failed_lines(flipped) == 0) {
        FAIL("bit " << bit << " of byte " << byte << " went unseen: " << flipped);
      }
    }
  }
}

TEST_CASE("MalformedLinesAreToldWithTheirNumber") {
  const auto with_line = [](std::size_t number, const std::string& line) {
    auto lines = lines_in(good().log_text);
    lines.at(number - 1) = line + "\n";
    return failures(verify(with_log(good(), joined(lines))));
  };
  CHECK(says(with_line(1, "dwellog-log-2 5"), "log file, line 1"));
  CHECK(says(with_line(1, "dwellog-log-1 05"), "log file, line 1"));
  CHECK(says(with_line(1, "dwellog-log-1 3"), "log file, line"));
  CHECK(says(with_line(1, "dwellog-log-1 99999"), "cut off"));
  CHECK(says(with_line(3, "hash 3 x"), "log file, line 3"));
  CHECK(says(with_line(3, "hash 1 " + std::string(64, 'a')), "begins at a multiple"));
  CHECK(says(with_line(3, "hash 60 " + std::string(64, 'a')), "log file, line 3"));
  CHECK(says(with_line(3, "records box-1 1 1 9000000"), "log file, line 3"));
  CHECK(says(with_line(3, "records box-1 1 1 24"), "more records than the 23 readings"));
  CHECK(says(with_line(3, "records box-1 1  1"), "log file, line 3"));
  CHECK(says(with_line(3, "record 0300"), "log file, line 3"));
  CHECK(says(with_line(3, "exchange box-1 1 5 9000000000000000000 1"), "no clock shows"));
  CHECK(says(with_line(3, "exchange box-1 1 5"), "log file, line 3"));
  CHECK(says(with_line(3, "gap box-1 1 9 5 1 0"), "log file, line 3"));
  CHECK(says(with_line(3, std::string(600, 'a')), "log file, line 3"));
  CHECK(says(with_line(20, "records box-1 1 9 1"), "too"));
}

TEST_CASE("ClocksThatWanderBeyondAllSumsAreRefused") {
  std::string log = "dwellog-log-1 40\n";
  for (int i = 0; i < 40; ++i) {
    log += "exchange box-1 1 " + std::to_string(i) +
           (i % 2 == 0 ? " 253402300799999998 1\n" : " -253402300799999998 1\n");
  }
  const auto plan =
      analysis::certificate::LogPlan::read(analysis::certificate::byte_source_from(log), 10);
  REQUIRE_FALSE(plan);
  CHECK(says(plan.error().text, "further apart than any clock shows"));
}

TEST_CASE("TheCheckpointOfAnOlderLogDoesNotFitTheLogFile") {
  Certified older = good();
  older.declared.log->checkpoint = checkpoint_text(site().head_at(middle()));
  older.declared.log->checkpoint.pop_back();
  CHECK(says(failures(verify(signed_anew(older, older.readings))),
             "log file, line 1: of a log of " + std::to_string(site().head().size) +
                 " entries, the certificate's checkpoint is of one of " +
                 std::to_string(middle())));
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

TEST_CASE("AForkIsFoundByACheckpointOfTheOtherHistory") {
  History fork = history();
  fork[9].boxes[1].records[0].flags = 2;  // of the other box
  const SiteStore other{fork};
  REQUIRE(other.head().size == site().head().size);
  const std::uint64_t early = site().entry_of_record(1, 5);
  REQUIRE(other.head_at(early) == site().head_at(early));
  const Certified certified = certify(site(), {.bounds = {early}});
  const std::string said = failures(
      verify(certified,
             {.since = {checkpoint_text(other.head()), checkpoint_text(site().head_at(early))}}));
  CHECK(says(said, "the log differs: it was changed in the entries " + std::to_string(early) +
                       " to " + std::to_string(other.head().size - 1) +
                       " after that checkpoint was signed"));
}

TEST_CASE("ALogThatWasCutIsFoundByACheckpointOfTheLongerOne") {
  History cut = history();
  cut.pop_back();
  const SiteStore shorter{cut};
  const std::string said =
      failures(verify(certify(shorter), {.since = {checkpoint_text(site().head())}}));
  CHECK(says(said, "has only " + std::to_string(shorter.head().size) +
                       " entries, it is shorter than the checkpoint"));
}

// The holder of the key writes the store anew with another reading and signs all of it.
TEST_CASE("AHistoryWrittenAnewIsFoundBelowACheckpointAndSelfDeclaredAboveIt") {
  History rewritten = history();
  auto& records = rewritten[7].boxes[0].records;
  records[0].raw_counts[0] -= 300;
  const SiteStore forged{rewritten};
  const std::uint64_t changed = forged.entry_of_record(records[0].id.boot, records[0].id.sequence);
  const std::uint64_t above = changed + 4;
  const Certified certified = certify(forged, {.bounds = {changed, above}});
  const Verification unseen = verify(certified);
  CHECK(unseen.status == VerificationStatus::proved);
  CHECK(says(lines_of(unseen, LineKind::unproved), "23 of the 23 readings lie above"));
  // A checkpoint from before the change proves what is below and calls the rest by its name.
  const Verification before =
      verify(certified, {.since = {checkpoint_text(site().head_at(changed))}});
  CHECK(before.status == VerificationStatus::proved);
  CHECK(says(lines_of(before, LineKind::unproved), "self-declared, the holder of the key"));
  CHECK(says(failures(verify(certified, {.since = {checkpoint_text(site().head_at(above))}})),
             "the log differs"));
}

TEST_CASE("AnAnchorCountsOnlyWhereSomeoneStampedIt") {
  const TreeHead then = site().head_at(middle());
  const Certified anchored = certify(site(), {.anchor = then});
  const Verification bare = verify(anchored);
  INFO(lines_of(bare, LineKind::failed));
  CHECK(bare.status == VerificationStatus::proved);
  CHECK(says(lines_of(bare, LineKind::proved), "the anchor, a checkpoint of"));
  CHECK(says(lines_of(bare, LineKind::unproved), "23 of the 23 readings lie above"));
  const std::string text = checkpoint_text(then);
  const Verification stamped =
      verify(anchored, {.stamps = {{std::string(analysis::certificate::kAnchorStamp),
                                    {},
                                    analysis::evidence::sha256_from_bytes(text),
                                    example::kStart,
                                    {},
                                    "CN=example"}}});
  CHECK(stamped.status == VerificationStatus::proved);
  CHECK(says(lines_of(stamped, LineKind::unproved), "8 of the 23 readings lie above"));
  CHECK(says(failures(verify(certify(site(), {.anchor = then, .anchored_too_many = 1}))),
             "log.readings_anchored: the certificate says 16, below its anchor lie 15"));
  TreeHead other = then;
  other.root.bytes[0] ^= 1;
  CHECK(says(failures(verify(certify(site(), {.anchor = other}))), "the anchor, a checkpoint of"));
}

TEST_CASE("ACheckpointCountsOnlyUnderAKeyOfTheHandOvers") {
  const TreeHead then = site().head_at(middle());
  const auto given = [&](std::uint8_t key, bool simulated = true) {
    return std::vector<std::string>{checkpoint_text(then, key, simulated)};
  };
  CHECK(says(failures(verify(good(), {.since = given(9)})),
             "checkpoint 1 of those given: signed with the key"));
  CHECK(says(failures(verify(good(), {.since = given(1, false)})), "of a real site"));
  std::string broken = given(1)[0];
  broken[30] ^= 1;
  CHECK(says(failures(verify(good(), {.since = {broken}})), "checkpoint 1 of those given: "));
  // From key 7 to the certificate's.
  const auto handover =
      analysis::evidence::handover_text(example::key(7), example::key(1), example::kStart, 1);
  const Verification v =
      verify(good(), {.since = given(7), .handovers = {handover.value()}, .outside_key = 7});
  INFO(lines_of(v, LineKind::failed));
  CHECK(v.status == VerificationStatus::proved);
  CHECK(says(lines_of(v, LineKind::proved), "15 of the 23 readings lie among them"));
  CHECK(says(failures(verify(good(), {.since = given(7)})), "signed with the key"));
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
