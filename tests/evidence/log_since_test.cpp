#include "analysis/evidence/handover.hpp"
#include "analysis/evidence/log/log_extract.hpp"
#include "tests/evidence/certified_site.hpp"

using namespace logged_site;

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

TEST_CASE("TheCheckpointOfAnOlderLogDoesNotFitTheLogFile") {
  Certified older = good();
  older.declared.log->checkpoint = checkpoint_text(site().head_at(middle()));
  older.declared.log->checkpoint.pop_back();
  CHECK(says(failures(verify(signed_anew(older, older.readings))),
             "log file, line 1: of a log of " + std::to_string(site().head().size) +
                 " entries, the certificate's checkpoint is of one of " +
                 std::to_string(middle())));
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
